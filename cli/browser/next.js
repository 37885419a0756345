/* "And next time": how many runs find a difference, in which order, and how fast that will be. */

let recorders = []; /* [[name, what it is], ...] of the library */

const PLAN_FIRST = ['difference-percent'];
const PLAN_GIVEN = ['cda', 'crr', 'mass-kg'];
const PLAN_START = ['start-speed-ms'];
const PLAN_DAY = ['gust-sd-ms', 'run-wind-sd-ms', 'cda-scatter-percent', 'temperature-c', 'pressure-hpa', 'interval-s'];
const PLAN_HILL = ['climb-speed-ms', 'top-wait-s', 'bottom-wait-s'];

const next = {
    part: 'plan', place: 'nextTime', said: 'planned', slow: 'planning', waits: false, answer: null, old: false,
    files: [['sheet.html', 'sheet'], ['next.ini', 'outing'], ['plan.json', 'json'], ['plan.csv', 'csv']],
    usualRoad: () => (fitted() ? 'outing' : 'slopes'),

    lacks() {
        const { base } = work.nextTime, names = { cda: 'CdA', crr: 'Crr', 'mass-kg': 'a mass' };
        return [...roadLacks(this), ...(base.get('difference-percent') || base.get('runs') ? [] : ['a difference to be found, or a number of runs']),
            ...(fitted() ? [] : PLAN_GIVEN.filter((key) => !base.get(key)).map((key) => names[key]))];
    },

    /* Setups of the outing are planned again, where no others are named. */
    setups() {
        return work.setups.length > 1 ? work.setups.map(({ name }) => name).join(', ') : 'a, b';
    },

    request() {
        const day = fitted() ? [...PLAN_DAY, 'recorder'] : [];
        const base = [...work.nextTime.base].filter(([key, value]) => value && !day.includes(key));
        if (!work.nextTime.base.get('setups')) base.push(['setups', this.setups()]);
        return { road: roadRequest(this), base: base.map(([key, value]) => [key, key === 'setups' ? value.replace(/\s*,\s*/g, ',') : value]) };
    },

    show() {
        keepFocus(this, () => {
            const { base } = work.nextTime, like = fitted();
            keyOf('plan', 'start-speed-ms').fallback_text = like ? 'as in this outing' : shownIn(14.4, 'km/h', 1);
            const set = (key) => (value) => {
                if (value) base.set(key, value);
                else base.delete(key);
                panelChanged(this);
            };
            const fields = (names) => names.map((name) => panelField(this, name, 'plan', base));
            const text = (key, label, hint) => textField(`plan.${key}`, label, hint, base.get(key) || '', set(key));
            byId('nextTime-road').replaceChildren(...roadFields(this, false));
            byId('nextTime-ask').replaceChildren(...fields(PLAN_FIRST),
                text('runs', 'Runs of each setup', 'left empty: as many as find the difference 8 times in 10'),
                text('setups', 'Setups', `with commas between them; left empty: ${this.setups()}`),
                ...(like ? [] : fields(PLAN_GIVEN)));
            byId('nextTime-more').replaceChildren(...(like ? fields(PLAN_GIVEN) : []),
                ...fields(PLAN_START),
                ...(like ? [] : [choiceField('plan.recorder', 'Recorder', 'what records the runs', recorders.map(([name, what]) => [name, what]), base.get('recorder'), set('recorder')), ...fields(PLAN_DAY)]),
                ...fields(PLAN_HILL));
            byId('nextTime-like').textContent = like ? 'Air, winds and recorder are expected as this outing had them, and what is left empty is its own.' : 'Without an outing above, what is expected must be guessed.';
        });
    },
};

panels.push(next);
