/* What the person has given so far, and the outing file that says it. The file is all that the library
 * is told: ranges, defaults and faults are its business, and what is saved is what was reckoned with. */

const OUTING = 'outing.ini';

/* The library's reason for a run that an outing file skips. */
const LEFT_OUT = 'skipped by the outing file';

/* Sections that have fields of their own on the page, in the order of the file. */
const PLAIN = ['outing', 'rider', 'bike', 'air'];

/* What a panel is asked: road.kind is "slopes", "outing" or "file"; null: as is usual. */
function emptyPanel() {
    return {
        open: false,
        road: { kind: null, slopes: '', file: null, whole: false, run: '' },
        base: new Map(),   /* key: value */
        beside: [],        /* {id, keys}: the same with that changed */
    };
}

function emptyWork() {
    return {
        recordings: [],      /* {name, blob, samples}; an air log has no samples */
        sections: new Map(PLAIN.map((title) => [title, new Map()])), /* title: key: value; no setups */
        setups: [],          /* {id, name, keys: Map} */
        labels: new Map(),   /* run: id of its setup */
        skipped: new Set(),  /* runs left out by hand */
        units: new Map(),    /* section.key: the unit that it is typed in */
        order: null, skip: null, /* as an opened file says them, until its runs are known */
        seaLevel: null,      /* hPa as typed, where the pressure is a weather report's; null: the hill's */
        reduced: null,       /* what the library makes of it at the hill */
        demo: false,
        elsewhere: emptyPanel(), nextTime: emptyPanel(),
    };
}

let work = emptyWork();
/* What the library found: parsed JSON, and the runs by the names that labels use. */
let found = null;

const runName = (run) => run.recording + ' ' + run.start;

/* ---- fields ---- */

function valueOf(section, key) {
    const keys = work.sections.get(section);
    return keys && keys.get(key) || '';
}

function setValue(section, key, value) {
    if (!work.sections.has(section)) work.sections.set(section, new Map());
    if (value) work.sections.get(section).set(key, value);
    else work.sections.get(section).delete(key);
}

const newId = () => work.setups.reduce((most, { id }) => Math.max(most, id), 0) + 1;

function addSetup(name, keys = new Map()) {
    const setup = { id: newId(), name, keys };
    work.setups.push(setup);
    return setup;
}

const setupById = (id) => work.setups.find((setup) => setup.id === id);

function removeSetup(setup) {
    work.setups = work.setups.filter((other) => other !== setup);
    for (const [run, id] of work.labels) if (id === setup.id) work.labels.delete(run);
}

/* ---- runs ---- */

/* Runs that an order counts: kept, and of no recording that says its setups itself. */
function orderedRuns() {
    return found ? found.runs.filter((run) => usable(run) && !ownSetups(run.recording) && !work.skipped.has(runName(run))) : [];
}

/* Kept, or turned down for nothing but that it was left out by hand the last time. */
const usable = (run) => run.kept || (run.reasons.length === 1 && run.reasons[0] === LEFT_OUT);

function ownSetups(recording) {
    const keys = work.sections.get('recording ' + recording);
    return Boolean(keys && (keys.has('setup') || keys.has('order')));
}

const unlabelled = () => orderedRuns().filter((run) => !setupById(work.labels.get(runName(run))));

/* Takes over what an opened file says of the runs, now that they are known. An order that does not
 * fit them stays as it stands: the library says what is amiss with it. */
function takeOrder() {
    if (work.skip !== null) {
        const numbers = new Set(work.skip.split(/[\s,]+/).map(Number));
        for (const run of found.runs) if (numbers.has(run.number)) work.skipped.add(runName(run));
        work.skip = null;
    }
    if (work.order === null) return;
    if (labelInOrder(work.order)) work.order = null;
}

/* Gives the runs their setups by the whole order, as words; false where these do not fit. */
function labelInOrder(text) {
    const words = text.split(/[\s,]+/).filter(Boolean);
    const runs = orderedRuns(), setups = words.map((word) => work.setups.find(({ name }) => name === word));
    if (words.length !== runs.length || setups.includes(undefined)) return false;
    runs.forEach((run, i) => work.labels.set(runName(run), setups[i].id));
    return true;
}

const orderText = () => orderedRuns().map((run) => (setupById(work.labels.get(runName(run))) || { name: '-' }).name).join(' ');

/* ---- the outing file ---- */

/* A value on a line of its own: no line ends, and nothing that would begin a comment. */
const oneLine = (value) => value.replace(/[\0-\x1f\x7f]+/g, ' ').replace(/(^|\s);/g, '$1,').trim();

/* A list over lines that are short enough. */
function listLines(key, words, between) {
    const lines = [];
    let line = key + ' =';
    words.forEach((word, i) => {
        const more = ' ' + word + (i < words.length - 1 ? between : '');
        if (line.length + more.length > 78 && i) {
            lines.push(line);
            line = '   ';
        }
        line += more;
    });
    return [...lines, line];
}

/* A weather report's pressure that is to be reduced, with what it was found to be at the hill. */
function weatherReport() {
    const hpa = Number(work.seaLevel);
    return work.seaLevel && Number.isFinite(hpa) ? { hpa, reduced: work.reduced } : null;
}

/* The air, with a weather report's pressure as it is at the hill. */
function airKeys() {
    const air = new Map(work.sections.get('air'));
    if (work.seaLevel === null) return air;
    if (!weatherReport()) {
        if (work.seaLevel) air.set('pressure_hpa', work.seaLevel); /* no number: the library says so */
    } else if (work.reduced) {
        air.set('pressure_hpa', String(work.reduced.hpa));
        if (!air.has('pressure_uncertainty_hpa')) air.set('pressure_uncertainty_hpa', String(work.reduced.uncertainty_hpa));
    }
    return air;
}

/* What an outing without a name is called: as its first recording. */
const recordingsName = () => (work.recordings.length ? work.recordings[0].name.replace(/(\.\w{1,4}){1,2}$/, '') : '');

/* {text, fields}: the outing file, and by line the name of the field that it comes from. */
function compose() {
    const lines = [], fields = [null];
    const put = (line, field = null) => {
        lines.push(line);
        fields.push(field);
    };
    const section = (title, keys) => {
        if (!keys.size) return;
        if (lines.length) put('');
        put(`[${title}]`, title);
        for (const [key, value] of keys) {
            const list = key === 'order' || key === 'skip' || /^(wind_along_ms|runout_m|time_s)$/.test(key) && title === 'runs';
            if (list) for (const line of listLines(key, value.split(/[\s,]+/), '')) put(line, `${title}.${key}`);
            else put(`${key} = ${oneLine(value)}`, `${title}.${key}`);
        }
    };
    put('; Written by the page of coastwise; `coastwise compare` reads it as well.');
    if (work.demo) put('; A made-up outing, to try things with.');
    put('');
    put('[outing]');
    const outing = new Map(work.sections.get('outing'));
    const name = outing.get('name') || recordingsName();
    if (name) put('name = ' + oneLine(name), 'outing.name');
    for (const line of listLines('recordings', work.recordings.filter(({ samples }) => samples !== undefined).map(({ name }) => name), ','))
        put(line, 'recordings');
    for (const [key, value] of outing) if (key !== 'name') put(`${key} = ${oneLine(value)}`, `outing.${key}`);
    for (const [title, keys] of work.sections) if (title !== 'outing' && title !== 'runs') section(title, title === 'air' ? airKeys() : keys);
    for (const setup of work.setups) {
        if (lines.length) put('');
        put(`[setup ${oneLine(setup.name)}]`, `setup ${setup.id}.name`);
        for (const [key, value] of setup.keys) if (value) put(`${key} = ${oneLine(value)}`, `setup ${setup.id}.${key}`);
    }
    const runs = new Map(work.sections.get('runs'));
    if (work.order !== null) runs.set('order', work.order);
    else if (work.setups.length > 1 && orderedRuns().length && !unlabelled().length) runs.set('order', orderText());
    const skip = work.skip !== null ? work.skip
        : found ? found.runs.filter((run) => work.skipped.has(runName(run))).map(({ number }) => number).join(' ') : '';
    if (skip) runs.set('skip', skip);
    section('runs', runs);
    return { text: lines.join('\n') + '\n', fields };
}

/* Takes over an outing file, as the library splits it: [["title"], ["key", "value"], ...]. */
function takeEntries(entries) {
    const { recordings, elsewhere, nextTime } = work;
    work = { ...emptyWork(), recordings, elsewhere, nextTime };
    let keys = null;
    for (const [name, value] of entries) {
        if (value !== undefined) {
            if (keys) keys.set(name, value);
            continue;
        }
        const [kind] = name.split(/\s+/, 1), rest = name.slice(kind.length).trim();
        if (kind === 'setup') {
            keys = addSetup(rest).keys;
        } else {
            const of = kind === 'recording' || kind === 'air' ? beside(rest) : rest; /* a file's name */
            const title = of ? `${kind} ${of}` : kind;
            if (!work.sections.has(title)) work.sections.set(title, new Map());
            keys = work.sections.get(title);
        }
    }
    const air = work.sections.get('air');
    if (air.has('pressure_sea_level_hpa')) { /* a field of its own here */
        work.seaLevel = air.get('pressure_sea_level_hpa');
        air.delete('pressure_sea_level_hpa');
    }
    const outing = work.sections.get('outing'), runs = work.sections.get('runs');
    const wanted = (outing.get('recordings') || '').split(',').map(beside).filter(Boolean);
    outing.delete('recordings');
    if (outing.has('air_log')) {
        const log = beside(outing.get('air_log'));
        outing.set('air_log', log);
        wanted.push(log);
    }
    work.wanted = wanted;
    if (runs) {
        work.order = runs.get('order') ?? null;
        work.skip = runs.get('skip') ?? null;
        runs.delete('order');
        runs.delete('skip');
    }
}

/* All files are in one folder here. */
const beside = (path) => (path.trim() ? fileName(path.split(/[/\\]/).pop()) : '');

/* A file's name as it can stand in an outing file. */
function fileName(name) {
    const clean = name.replace(/[\0-\x1f\x7f,;/\\]+/g, '_').trim() || 'recording';
    const letters = [...(clean === '-' ? 'recording' : clean)];
    return letters.length > 60 ? letters.slice(0, 40).join('') + letters.slice(-20).join('') : letters.join('');
}
