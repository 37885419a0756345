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
    'plan.start-speed-ms': 'Start speed',
    'plan.climb-speed-ms': 'Speed back up',
    'plan.top-wait-s': 'Waiting at the top',
    'plan.bottom-wait-s': 'Waiting at the bottom',
};

/* Units where the key's own word does not say enough, and of keys that have theirs in the name's end. */
const UNITS = { pressure_hpa: 'hPa', wheel_inertia_kgm2: 'kg m²' };
const ENDINGS = { kg: 'kg', hpa: 'hPa', c: '°C', ms: 'm/s', ms2: 'm/s²', m: 'm', w: 'W', s: 's', percent: '%', kgm2: 'kg m²', cda: 'm²', density: 'kg/m³' };
const unitOf = (key) => UNITS[key.name] || key.unit || ENDINGS[key.name.split('-').pop()] || '';

/* Other units that a key's value may be typed in: it is times * typed + plus in the key's own. */
const POUND = { lb: { times: IMPERIAL.kg.times, plus: 0 } };
const FAHRENHEIT = { '°F': { times: 5 / 9, plus: -160 / 9 } };
const MERCURY = { inHg: { times: IMPERIAL.hPa.times, plus: 0 } };
const SPEEDS = { 'km/h': { times: 1 / 3.6, plus: 0 }, mph: { times: IMPERIAL['km/h'].times / 3.6, plus: 0 } };
const FOOT = { ft: { times: IMPERIAL.m.times, plus: 0 } };
const TYPED_IN = {
    mass_kg: POUND, mass_uncertainty_kg: POUND, load_kg: POUND, worth_kg: POUND,
    temperature_c: FAHRENHEIT, temperature_uncertainty_c: { '°F': { times: 5 / 9, plus: 0 } },
    pressure_hpa: MERCURY, pressure_uncertainty_hpa: MERCURY, altitude_m: FOOT,
    wind_along_ms: SPEEDS, wind_uncertainty_ms: SPEEDS, start_speed_ms: SPEEDS, climb_speed_ms: SPEEDS, gust_sd_ms: SPEEDS, run_wind_sd_ms: SPEEDS,
};

/* Keys that stand for another and are no other unit of it: a weather report's pressure has a choice of its own. */
const NO_UNIT = ['pressure_sea_level_hpa'];

/* The units that a key can be typed in, its own first: {unit, key, times, plus}; key says which of
 * those that the library reads the number is written under. */
function unitsOf(key) {
    const all = [{ unit: unitOf(key), key: key.name, times: 1, plus: 0 }];
    const add = (more) => { if (!all.some(({ unit }) => unit === more.unit)) all.push(more); };
    for (const { name, times, plus } of insteadOf(key)) if (name !== key.name && !NO_UNIT.includes(name)) add({ unit: unitOf(keyOf(key.section, name)), key: name, times, plus });
    for (const [unit, { times, plus }] of Object.entries(TYPED_IN[key.name.replace(/-/g, '_')] || {})) add({ unit, key: key.name, times, plus });
    return all;
}

/* That which a key is asked in: as the person chose it for this one, else as the person reads. */
const unitAsked = (section, key) => {
    const all = unitsOf(key), chosen = work.units.get(`${section}.${key.name}`);
    return all.find(({ unit }) => unit === chosen) || all.find(({ unit }) => askedIn(unit)) || all[0];
};

/* Digits enough that what is typed is shown again; of what stands there as few as tell it. */
const KEPT = 8, SHOWN = 5;
const rounded = (number, digits) => String(Number(number.toPrecision(digits)));

/* Turns a number, and its uncertainty where one is given: 83+-0.5. What is no number stays. */
function converted(text, digits, turn) {
    const [value, error] = text.split(/\+-|±/), numbers = error === undefined ? [value] : [value, error];
    if (!text || !numbers.every((number) => number.trim() && Number.isFinite(Number(number)))) return text;
    return numbers.map((number, i) => rounded(turn(Number(number), i), digits)).join('+-');
}

/* A value in a key's own unit, as it is said in another: to so many digits. */
const inUnit = (value, { times, plus }, digits = 2) => (times === 1 ? String(value) : String(Number(((value - plus) / times).toPrecision(Math.abs(value) < 100 ? digits : 3))));

/* A text that is in one unit of a key, in another. */
const fromTo = (text, from, to, digits = SHOWN) => (from.unit === to.unit ? text
    : converted(text, digits, (number, i) => ((i ? 0 : from.plus - to.plus) + from.times * number) / to.times));

const CHOICES = {
    'outing.elevation': ['barometric', 'satellite', 'surveyed', 'terrain', 'level'],
};

const NEEDED = ['rider.mass_kg', 'bike.mass_kg'];

/* What a key means, without what is for a command line. */
const inFieldWords = (meaning, asked) => meaning && meaning.replace(/ \(default ([^;)]*)(;[^)]*)?\)/, '; left empty: $1').replace(/; without it from the four below/, '; left empty: by the air')
    .replace(/\b(left empty: |day (?:[\d.]+ to )?)([\d.]+)(?! to)(?=$|;| )/g, (all, before, number) => before.replace(/[\d.]+/, (low) => inUnit(Number(low), asked)) + `${inUnit(Number(number), asked)}${asked.unit ? '\u00a0' + asked.unit : ''}`);

const keyOf = (section, name) => keys.find((key) => key.section === section && key.name === name);

/* The key and those that say the same in another unit. */
const insteadOf = (key) => [key, ...keys.filter((other) => other.section === key.section && other.instead === key.name)];

/* What is taken where a field is left empty, in the unit that it is asked in. */
function defaultText(key, asked) {
    if (key.fallback_text) return 'left empty: ' + key.fallback_text;
    if (!key.number || key.fallback == null) return '';
    const number = (value) => `${inUnit(value, asked)}${asked.unit ? '\u00a0' + asked.unit : ''}`;
    if (key.of && key.fallback_without !== null && key.fallback_without !== key.fallback)
        return `left empty: ${number(key.fallback)}; ${number(key.fallback_without)} where none is given above`;
    return 'left empty: ' + number(key.fallback);
}

/* A fault that names a range in the key's own unit, in that which was typed. */
function inUnitTyped(message, asked) {
    if (asked.times === 1) return message;
    const there = (text) => inUnit(Number(text), asked, 3);
    return message.replace(/\b(is "?)(-?[\d.]+)("?)( [^\s:]+)?:/, (all, is, number, quote, unit) => `${is}${there(number)}${quote}${unit ? ' ' + asked.unit : ''}:`)
        .replace(/\bfrom (-?[\d.]+) to (-?[\d.]+)( [^\s,;]+)?/, (all, low, high) => `from ${there(low)} to ${there(high)} ${asked.unit}`);
}

/* A field for a key: {section, name} as the library knows it, in the section `title` of the work.
 * values: get(name), set(name, value). */
function makeField(section, name, title, values, changed) {
    const key = keyOf(section, name), all = unitsOf(key), same = insteadOf(key);
    const id = 'field-' + `${title}.${name}`.replace(/[^\w.-]/g, '-');
    const label = LABELS[`${section}.${name}`] || name;
    const needed = NEEDED.includes(`${section}.${name}`);
    const given = all.find((one) => values.get(one.key));
    let asked = unitAsked(section, key), typed = false; /* typed: here and now */
    const hint = make('small', { id: id + '-hint' });
    const showHint = () => { hint.textContent = [inFieldWords(key.meaning, asked), needed ? 'needed' : defaultText(key, asked)].filter(Boolean).join('; '); };
    const fault = make('p', { id: id + '-fault', className: 'fault', hidden: true });
    const choices = CHOICES[`${section}.${name}`];
    const input = choices
        ? make('select', { id }, make('option', { value: '' }, 'told from the data'), ...choices.map((word) => make('option', { value: word }, word)))
        : make('input', {
            id, type: 'text', autocomplete: 'off', spellcheck: false,
            inputMode: key.number ? 'decimal' : 'text', 'aria-required': needed ? 'true' : null,
        });
    input.setAttribute('aria-describedby', `${fault.id} ${hint.id}`);
    input.value = given ? fromTo(values.get(given.key), given, asked) : '';
    showHint();
    const change = () => {
        for (const other of same) values.set(other.name, '');
        /* A comma for the point is what many keyboards offer. */
        const text = key.number ? input.value.trim().replace(/,/g, '.') : input.value.trim();
        values.set(asked.key, fromTo(text, asked, all.find((one) => one.key === asked.key), KEPT));
        changed();
    };
    input.addEventListener('input', () => {
        typed = true;
        change();
    });
    let unit = unitOf(key) ? make('span', { className: 'unit-of' }, unitOf(key)) : null;
    if (all.length > 1) {
        unit = make('select', { 'aria-label': 'Unit of: ' + label }, ...all.map((one) => make('option', { value: one.unit }, one.unit)));
        unit.value = asked.unit;
        /* A number that was just typed is meant in the unit that is chosen after it; one that stood
         * there is turned. */
        unit.addEventListener('change', () => {
            const before = asked;
            asked = all.find((one) => one.unit === unit.value);
            work.units.set(`${section}.${name}`, unit.value);
            if (!typed) input.value = fromTo(input.value.trim(), before, asked);
            showHint();
            change();
        });
    }
    const box = make('div', { className: 'field', 'data-field': same.map((other) => `${title}.${other.name}`).join(' ') },
        make('label', { for: id }, label), make('span', { className: 'entry' }, input, unit), hint, fault);
    /* What the library refuses is in the unit that it was written in. */
    box.inUnitTyped = (message) => {
        const said = message.replace(/^(\w+) is /, (all, name) => (same.some((other) => other.name === name) ? 'this is ' : all));
        return asked.key === key.name ? inUnitTyped(said, asked) : said;
    };
    return box;
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
    fault.textContent = place.inUnitTyped ? place.inUnitTyped(message) : message;
    fault.hidden = false;
    if (input) input.setAttribute('aria-invalid', 'true');
    for (let box = place.closest('details'); box; box = box.parentElement.closest('details')) box.open = true;
    return true;
}
