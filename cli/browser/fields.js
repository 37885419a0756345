/* Fields for the keys of an outing file. What a key means, its unit, its range and what is taken where
 * it is left empty come from the library; here are only short labels. */

let keys = []; /* as the library has them */

const LABELS = {
    'outing.name': 'Name of the outing',
    'outing.elevation': 'Heights come from',
    'outing.utc_offset': 'Clock’s offset from UTC',
    'rider.mass_kg': 'Rider, with clothes',
    'bike.mass_kg': 'Bicycle, with bottles and bags',
    'rider.mass_uncertainty_kg': 'Rider’s mass, known to ±',
    'bike.mass_uncertainty_kg': 'Bicycle’s mass, known to ±',
    'bike.wheel_inertia_kgm2': 'Inertia of both wheels',
    'bike.wheel_radius_m': 'Wheel’s radius',
    'air.temperature_c': 'Temperature',
    'air.temperature_uncertainty_c': 'Temperature, known to ±',
    'air.pressure_hpa': 'Air pressure',
    'air.pressure_uncertainty_hpa': 'Pressure, known to ±',
    'air.humidity_percent': 'Humidity',
    'air.humidity_uncertainty_percent': 'Humidity, known to ±',
    'air.wind_along_ms': 'Wind along the road',
    'air.wind_uncertainty_ms': 'Wind, known to ±',
    'rolling.crr': 'Rolling coefficient Crr',
    'rolling.crr_uncertainty': 'Crr, known to ±',
    'setup.description': 'In words',
    'setup.load_kg': 'Load',
    'setup.tyres': 'Tyres',
    'setup.pressure_kpa': 'Tyre pressure',
    'setup.drag': 'Drag said to be the same as',
    'predict.cda': 'CdA',
    'predict.crr': 'Crr',
    'predict.mass-kg': 'Mass of all that moves',
    'predict.load-kg': 'Load more',
    'predict.density': 'Density of the air',
    'predict.temperature-c': 'Temperature',
    'predict.pressure-hpa': 'Air pressure',
    'predict.humidity-percent': 'Humidity',
    'predict.altitude-m': 'Altitude',
    'predict.wind-along-ms': 'Wind along the road',
    'predict.start-speed-ms': 'Start speed',
    'predict.power-w': 'Power',
    'predict.wheel-inertia-kgm2': 'Inertia of both wheels',
    'predict.wheel-radius-m': 'Wheel’s radius',
    'predict.gravity-ms2': 'Gravity',
    'predict.worth-kg': 'What is so much more mass worth?',
    'predict.time-s': 'Which CdA takes this time?',
    'plan.cda': 'CdA, about',
    'plan.crr': 'Crr, about',
    'plan.mass-kg': 'Mass of all that moves',
    'plan.difference-percent': 'Difference to be found',
    'plan.gust-sd-ms': 'Gusts within a run, ±',
    'plan.run-wind-sd-ms': 'Winds from run to run, ±',
    'plan.cda-scatter-percent': 'CdA from run to run, ±',
    'plan.temperature-c': 'Temperature',
    'plan.pressure-hpa': 'Air pressure',
    'plan.interval-s': 'Time between samples',
    'plan.climb-speed-ms': 'Speed back up',
    'plan.top-wait-s': 'Waiting at the top',
    'plan.bottom-wait-s': 'Waiting at the bottom',
};

/* Units where the key's own word does not say enough, and of keys that have theirs in the name's end. */
const UNITS = { pressure_hpa: 'hPa' };
const ENDINGS = { kg: 'kg', hpa: 'hPa', c: '°C', ms: 'm/s', ms2: 'm/s²', m: 'm', w: 'W', s: 's', percent: '%', kgm2: 'kg m²', cda: 'm²', density: 'kg/m³' };
const unitOf = (key) => UNITS[key.name] || key.unit || ENDINGS[key.name.split('-').pop()] || '';

/* Other units that a key's value may be typed in: it is times * typed + plus in the key's own. The pound
 * is that of 1959, exactly; an inch of mercury is 3.386389 kPa (NIST SP 811, appendix B.8). */
const POUND = { lb: { times: 0.45359237, plus: 0 } };
const FAHRENHEIT = { '°F': { times: 5 / 9, plus: -160 / 9 } };
const MERCURY = { inHg: { times: 33.86389, plus: 0 } };
const TYPED_IN = { mass_kg: POUND, load_kg: POUND, temperature_c: FAHRENHEIT, pressure_hpa: MERCURY };

const otherUnits = (name) => TYPED_IN[name.replace(/-/g, '_')] || {};

/* Digits enough that what was typed is shown again. */
const rounded = (number) => String(Number(number.toPrecision(7)));

/* Turns a number, and its uncertainty where one is given: 83+-0.5. What is no number stays. */
function converted(text, unit, turn) {
    const [value, error] = text.split(/\+-|±/), numbers = error === undefined ? [value] : [value, error];
    if (!unit || !text || !numbers.every((number) => number.trim() && Number.isFinite(Number(number)))) return text;
    return numbers.map((number, i) => rounded(turn(Number(number), i ? 0 : unit.plus))).join('+-');
}

const fromUnit = (text, unit) => converted(text, unit, (number, plus) => unit.times * number + plus);
const inUnit = (text, unit) => converted(text, unit, (number, plus) => (number - plus) / unit.times);

const CHOICES = {
    'outing.elevation': ['barometric', 'satellite', 'surveyed', 'terrain', 'level'],
};

const NEEDED = ['rider.mass_kg', 'bike.mass_kg'];

/* What a key means, without what is for a command line. */
const inFieldWords = (meaning) => meaning && meaning.replace(/ \(default ([^;)]*)(;[^)]*)?\)/, '; left empty: $1').replace(/; without it from the four below/, '; left empty: by the air');

const keyOf = (section, name) => keys.find((key) => key.section === section && key.name === name);

/* The key and those that say the same in another unit. */
const insteadOf = (key) => [key, ...keys.filter((other) => other.section === key.section && other.instead === key.name)];

function defaultText(key) {
    if (key.fallback_text) return 'left empty: ' + key.fallback_text;
    if (!key.number || key.fallback == null) return '';
    const number = (value) => `${value}${key.unit ? ' ' + key.unit : ''}`;
    if (key.of && key.fallback_without !== null && key.fallback_without !== key.fallback)
        return `left empty: ${number(key.fallback)}; ${number(key.fallback_without)} where none is given above`;
    return 'left empty: ' + number(key.fallback);
}

/* A field for a key: {section, name} as the library knows it, in the section `title` of the work.
 * values: get(name), set(name, value). */
function makeField(section, name, title, values, changed) {
    const key = keyOf(section, name);
    const same = insteadOf(key);
    const id = 'field-' + `${title}.${name}`.replace(/[^\w.-]/g, '-');
    const label = LABELS[`${section}.${name}`] || name;
    const needed = NEEDED.includes(`${section}.${name}`);
    const used = () => same.find((other) => values.get(other.name)) || same[0];
    const hint = make('small', { id: id + '-hint' }, [inFieldWords(key.meaning), needed ? 'needed' : defaultText(key)].filter(Boolean).join('; '));
    const fault = make('p', { id: id + '-fault', className: 'fault', hidden: true });
    const choices = CHOICES[`${section}.${name}`];
    const input = choices
        ? make('select', { id }, make('option', { value: '' }, 'told from the data'), ...choices.map((word) => make('option', { value: word }, word)))
        : make('input', {
            id, type: 'text', autocomplete: 'off', spellcheck: false,
            inputMode: key.number ? 'decimal' : 'text', 'aria-required': needed ? 'true' : null,
        });
    input.setAttribute('aria-describedby', `${fault.id} ${hint.id}`);
    input.value = values.get(used().name) || '';
    let unit = null;
    const others = otherUnits(name);
    /* What is typed is in this unit; none: in a key's own. */
    const typed = () => (unit && others[unit.value]) || null;
    if (same.length > 1 || Object.keys(others).length) {
        unit = make('select', { 'aria-label': 'Unit of: ' + label });
        for (const other of same) unit.append(make('option', { value: other.name }, unitOf(other)));
        for (const other of Object.keys(others)) unit.append(make('option', { value: other }, other));
        unit.value = work.units.get(`${section}.${name}`) || used().name;
        input.value = inUnit(input.value, typed());
    } else if (unitOf(key)) {
        unit = make('span', { className: 'unit-of' }, unitOf(key));
    }
    const change = () => {
        for (const other of same) values.set(other.name, '');
        /* A comma for the point is what many keyboards offer. */
        const text = key.number ? input.value.trim().replace(/,/g, '.') : input.value.trim();
        values.set(unit && unit.tagName === 'SELECT' && !typed() ? unit.value : key.name, fromUnit(text, typed()));
        changed();
    };
    input.addEventListener('input', change);
    if (unit && unit.tagName === 'SELECT')
        unit.addEventListener('change', () => {
            work.units.set(`${section}.${name}`, unit.value);
            change();
        });
    return make('div', { className: 'field', 'data-field': same.map((other) => `${title}.${other.name}`).join(' ') },
        make('label', { for: id }, label), make('span', { className: 'entry' }, input, unit), hint, fault);
}

function plainField(section, name, changed) {
    return makeField(section, name, section, {
        get: (key) => valueOf(section, key),
        set: (key, value) => setValue(section, key, value),
    }, changed);
}

/* A choice: options [[value, text], ...]; chosen(value). */
function choiceField(field, label, hint, options, value, chosen) {
    const id = 'field-' + field.replace(/[^\w.-]/g, '-');
    const select = make('select', { id, 'aria-describedby': `${id}-fault ${id}-hint` }, ...options.map(([name, text]) => make('option', { value: name }, text)));
    select.value = options.some(([name]) => name === value) ? value : options[0][0];
    select.addEventListener('change', () => chosen(select.value));
    return make('div', { className: 'field', 'data-field': field }, make('label', { for: id }, label), make('span', { className: 'entry' }, select),
        make('small', { id: id + '-hint' }, hint), make('p', { id: id + '-fault', className: 'fault', hidden: true }));
}

/* A text of no key. */
function textField(field, label, hint, value, changed) {
    const id = 'field-' + field.replace(/[^\w.-]/g, '-');
    const input = make('input', { id, type: 'text', value, autocomplete: 'off', spellcheck: false, 'aria-describedby': `${id}-fault ${id}-hint` });
    input.addEventListener('input', () => changed(input.value.trim()));
    return make('div', { className: 'field', 'data-field': field }, make('label', { for: id }, label), make('span', { className: 'entry' }, input),
        make('small', { id: id + '-hint' }, hint), make('p', { id: id + '-fault', className: 'fault', hidden: true }));
}

/* ---- faults beside the field that they are about ---- */

/* Of a part of the page; panels have theirs by themselves. */
function clearFaults(place) {
    const within = (selector) => [...place.querySelectorAll(selector)].filter((element) => place.closest('.panel') || !element.closest('.panel'));
    for (const fault of within('[data-field] .fault')) {
        fault.hidden = true;
        fault.textContent = '';
    }
    for (const wrong of within('[aria-invalid]')) wrong.removeAttribute('aria-invalid');
}

/* Shows a fault beside a field by its name in compose(); false where the page has no such field. */
function showFault(field, message) {
    const place = document.querySelector(`[data-field~="${CSS.escape(field)}"]`) ||
        [...document.querySelectorAll('[data-field]')].find((box) => box.dataset.field.split(' ').includes(field));
    if (!place) return false;
    const fault = place.querySelector('.fault'), input = place.querySelector('input, select, textarea');
    fault.textContent = message;
    fault.hidden = false;
    if (input) input.setAttribute('aria-invalid', 'true');
    for (let box = place.closest('details'); box; box = box.parentElement.closest('details')) box.open = true;
    return true;
}
