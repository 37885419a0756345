/* What a worker does: one piece of work, said by a message, and answers to it as they come. */
'use strict';

const say = (what) => self.postMessage(what);

/* The module as it stands in the page: base64 of its gzip. */
async function unpack(code) {
    const stream = new Blob([bytesOf(code)]).stream().pipeThrough(new DecompressionStream('gzip'));
    return WebAssembly.compile(await new Response(stream).arrayBuffer());
}

/* An error as it goes to the page. What is none of the library's sentences is the browser's: a
 * recording that needs more memory than there is, say. */
function refusal(error) {
    if (error instanceof Refused) return { file: error.file, line: error.line, message: error.message, field: error.field };
    return { file: '', line: 0, message: 'this is more than the browser can do here (' + error.message + ')' };
}

/* A fault in what was given, with the field that it is about. */
function set(field, work) {
    try {
        return work();
    } catch (error) {
        throw Object.assign(error, { field });
    }
}

let imperial = false; /* what people read */

/* An engine with the files in it. */
async function prepare(module, files, on) {
    const engine = new Engine(module, { imperial, ...on });
    for (const { name, blob } of files) engine.put(name, new Uint8Array(await blob.arrayBuffer()));
    return engine;
}

/* What files are, each by itself. */
async function look(module, { files }) {
    for (const file of files) {
        try {
            const engine = await prepare(module, [file]);
            const found = engine.look(file.name);
            if (found.outing) found.entries = engine.entries(engine.system.files.get(file.name), file.name);
            say({ looked: { name: file.name, ...found } });
        } catch (error) {
            say({ looked: { name: file.name, refused: refusal(error) } });
        }
    }
}

/* ---- what is asked besides: on another hill, next time ---- */

/* An engine that has gone the whole way stays, to be asked; none: what is asked must be given whole. */
let held = null;

/* Where: slopes, the road of the outing, or a recording that is looked at anew. */
async function setRoad(engine, part, { kind, slopes, file, whole, run }) {
    if (kind === 'slopes') return set('slopes', () => engine.call(part + '_on_slopes', slopes));
    if (kind === 'outing') return set('road', () => engine.call(part + '_on_outing'));
    engine.put(file.name, new Uint8Array(await file.blob.arrayBuffer()));
    return set('file', () => engine.call(part + '_on_recording', file.name, ...(part === 'predict' ? [whole ? 1 : 0, run] : [])));
}

/* What is set: base [[key, value], ...], and beside it rides with something changed, each with a name. */
async function predict(engine, { like, road, base, beside }) {
    engine.call('predict_begin');
    for (const [key, value] of base) set(`predict.${key}`, () => engine.call('predict_set', 0, key, value));
    beside.forEach(({ id, name, given }, i) => {
        for (const [key, value] of given) set(`predict ${id}.${key}`, () => engine.call('predict_set', i + 1, key, value));
        engine.call('predict_name', i + 1, name);
    });
    await setRoad(engine, 'predict', road);
    return { part: engine.said(engine.calls.predict(like && held ? 1 : 0)), files: filesOf(engine, 'predict', ['json', 'csv']) };
}

async function plan(engine, { like, road, base }) {
    engine.call('plan_begin', like && held ? 1 : 0);
    for (const [key, value] of base) set(`plan.${key}`, () => engine.call('plan_set', key, value));
    await setRoad(engine, 'plan', road);
    return { part: engine.said(engine.calls.plan()), files: filesOf(engine, 'plan', ['json', 'csv', 'sheet', 'outing']) };
}

const filesOf = (engine, part, kinds) => Object.fromEntries(kinds.map((kind) => [kind, engine.answer(`${part}_${kind}`)]));

async function ask(module, kind, work, what) {
    try {
        say({ [kind]: await work(held || new Engine(module, { imperial }), what) });
    } catch (error) {
        say({ [kind]: { refused: refusal(error) } });
    }
}

/* The runs, as JSON and CSV; heights over time; and what is said of them in words, as it is read. */
function foundRuns(engine) {
    const found = engine.answer('runs_json'), { runs, heights } = JSON.parse(found);
    const said = new Set([heights ? heights.said : '', ...runs.flatMap(({ reasons }) => reasons)]);
    return { found, heights: engine.heights(), csv: engine.answer('runs_csv'), words: new Map([...said].map((words) => [words, engine.sentence(words)])) };
}

/* The whole way. Where the outing file cannot be read, or is not whole yet, the runs are found of the
 * recordings as they are. */
async function answer(module, { files: given, names, outing, text, whole, report }) {
    const step = (message) => say({ progress: message });
    const on = {
        progress: (doing, i, n, file) => step(`${doing} ${file}${n > 1 ? ` (${i} of ${n})` : ''}`),
        notice: (notice) => say({ notice }),
    };
    const all = [...given, { name: outing, blob: new Blob([text]) }];
    let engine, opened = false;
    if (whole) {
        try {
            engine = await prepare(module, all, on);
            engine.openOuting(outing);
            opened = true;
        } catch (error) {
            say({ refused: refusal(error) });
        }
    }
    if (!opened) {
        engine = await prepare(module, given, on);
        engine.openRecordings(names);
    }
    step('finding the runs');
    engine.find();
    say({ runs: foundRuns(engine) });
    if (!opened) return;
    if (report) {
        const reduced = set('air.pressure_hpa', () => engine.hillPressure(report.hpa));
        if (!report.reduced || reduced.hpa !== report.reduced.hpa) return say({ reduced });
    }
    const doubt = engine.doubtPressure();
    if (doubt) say({ doubt: { field: 'air.pressure_hpa', message: doubt } });
    engine.check(false);
    step('fitting drag and rolling');
    engine.fit();
    step('setting setups against each other');
    engine.compare();
    step('drawing the page');
    const compared = engine.compared(), files = {};
    say({ answer: { page: engine.page(outing), compared } });
    if (compared)
        for (const kind of ['json', 'csv']) files['compare.' + kind] = engine.answer('compare_' + kind);
    engine.average();
    held = engine;
    for (const kind of ['json', 'csv']) files['fit.' + kind] = engine.answer('fit_' + kind);
    say({ numbers: { setups: engine.averaged(), files } });
}

self.onmessage = async ({ data }) => {
    try {
        let module = data.module;
        imperial = Boolean(data.imperial);
        if (!module) {
            module = await unpack(data.code);
            const engine = new Engine(module);
            say({ module, keys: [...engine.keys(), ...engine.asked()], recorders: engine.recorders(), version: engine.version(), demo: new Blob([bytesOf(data.demo)]) });
        }
        if (data.look) await look(module, data.look);
        if (data.answer) await answer(module, data.answer);
        if (data.predict) await ask(module, 'predicted', predict, data.predict);
        if (data.plan) await ask(module, 'planned', plan, data.plan);
    } catch (error) {
        say({ refused: refusal(error) });
    }
    say({ done: true, held: Boolean(held) });
};
