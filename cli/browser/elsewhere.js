/* "And on another hill": rides on another road, on another day, with something changed. */

const RIDE_FIRST = ['load-kg', 'wind-along-ms', 'temperature-c', 'start-speed-ms', 'power-w'];
const RIDE_GIVEN = ['cda', 'crr', 'mass-kg'];
const RIDE_MORE = ['pressure-hpa', 'humidity-percent', 'altitude-m', 'density', 'wheel-inertia-kgm2', 'wheel-radius-m', 'gravity-ms2'];
const RIDE_ASKED = ['worth-kg', 'time-s'];

/* Whether CdA and Crr can be an outing's: its setups have runs. */
const toldSetups = () => (fitted() && answered.setups ? work.setups.map(({ name }) => name) : []);

const elsewhere = {
    part: 'predict', place: 'elsewhere', said: 'predicted', slow: null, waits: false, answer: null, old: false,
    files: [['predict.json', 'json'], ['predict.csv', 'csv']],
    usualRoad: () => 'slopes',

    lacks() {
        const { base } = work.elsewhere, names = { cda: 'CdA', crr: 'Crr', 'mass-kg': 'a mass' };
        return [...roadLacks(this), ...(toldSetups().length ? [] : RIDE_GIVEN.filter((key) => !base.get(key)).map((key) => names[key]))];
    },

    request() {
        const { base, beside } = work.elsewhere, told = toldSetups();
        const given = (keys) => [...keys].filter(([key, value]) => value && (key !== 'setup' || told.includes(value)));
        return {
            road: roadRequest(this), base: given(base),
            beside: beside.map(({ id, keys }) => ({ id, given: given(keys), name: this.nameOf(given(keys)) })).filter((ride) => ride.given.length),
        };
    },

    /* A changed ride in a few words: "setup jacket, load more 8 kg". */
    nameOf(given) {
        const word = ([name, value]) => {
            if (name === 'setup') return `setup ${value}`;
            const key = keyOf('predict', name), asked = unitAsked('predict', key);
            return `${LABELS['predict.' + name].toLowerCase().replace('cda', 'CdA').replace('crr', 'Crr')} ${fromTo(value, unitsOf(key)[0], asked)} ${asked.unit}`.trim();
        };
        return given.map(word).join(', ');
    },

    rideFields(title, keys, names) {
        return names.map((name) => panelField(this, name, title, keys));
    },

    setupField(title, keys, first) {
        const told = toldSetups();
        if (!told.length) return [];
        return [choiceField(`${title}.setup`, 'Setup', '', [['', first], ...told.filter((name) => name !== first).map((name) => [name, name])], keys.get('setup'), (name) => {
            if (name) keys.set('setup', name);
            else keys.delete('setup');
            panelChanged(this);
        })];
    },

    besideFields({ id, keys }, i) {
        const title = `predict ${id}`;
        const remove = make('button', { type: 'button', 'aria-label': `Take away changed ride ${i + 1}` }, 'Take away');
        remove.addEventListener('click', () => {
            work.elsewhere.beside = work.elsewhere.beside.filter((other) => other.id !== id);
            this.show();
            panelChanged(this);
            byId('elsewhere-add').focus();
        });
        return make('fieldset', { className: 'setup' }, make('legend', {}, `Changed ride ${i + 1}`),
            make('div', { className: 'fields' }, ...this.setupField(title, keys, 'the same'), ...this.rideFields(title, keys, RIDE_FIRST)),
            make('details', {}, make('summary', {}, 'More that may change'), make('div', { className: 'fields' }, ...this.rideFields(title, keys, [...RIDE_GIVEN, ...RIDE_MORE]))), remove);
    },

    show() {
        keepFocus(this, () => {
            const { base, beside } = work.elsewhere, told = toldSetups();
            byId('elsewhere-like').textContent = `${told.length ? 'CdA, Crr, masses and air are those of this outing’s setups, where nothing else is given.'
                : 'CdA, Crr and the mass must be given: there is no outing above whose setups tell them.'} An uncertainty may follow a number, as 83+-0.5.`;
            byId('elsewhere-road').replaceChildren(...roadFields(this, true));
            byId('elsewhere-ride').replaceChildren(...this.setupField('predict', base, told[0]), ...this.rideFields('predict', base, told.length ? RIDE_FIRST : [...RIDE_GIVEN, ...RIDE_FIRST]));
            byId('elsewhere-more').replaceChildren(...this.rideFields('predict', base, [...(told.length ? RIDE_GIVEN : []), ...RIDE_MORE, ...RIDE_ASKED]));
            byId('elsewhere-beside').replaceChildren(...beside.map((ride, i) => this.besideFields(ride, i)));
        });
    },

    setUp() {
        byId('elsewhere-add').addEventListener('click', () => {
            const { beside } = work.elsewhere, id = beside.reduce((most, ride) => Math.max(most, ride.id), 0) + 1;
            beside.push({ id, keys: new Map() });
            this.show();
            byId('elsewhere-beside').lastElementChild.querySelector('input, select').focus();
            keepSoon();
        });
    },
};

panels.push(elsewhere);
