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
    if (error instanceof Refused) return { file: error.file, line: error.line, message: error.message };
    return { file: '', line: 0, message: 'this is more than the browser can do here (' + error.message + ')' };
}

/* An engine with the files in it. */
async function prepare(module, files, on) {
    const engine = new Engine(module, on);
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

/* The whole way. Where the outing file cannot be read, or is not whole yet, the runs are found of the
 * recordings as they are. */
async function answer(module, { files: given, names, outing, text, whole }) {
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
    say({ runs: { found: engine.answer('runs_json'), heights: engine.heights(), csv: engine.answer('runs_csv') } });
    if (!opened) return;
    engine.check(false);
    step('fitting drag and rolling');
    engine.fit();
    step('setting setups against each other');
    engine.compare();
    step('drawing the page');
    const compared = engine.compared(), files = {}, page = engine.page(outing);
    if (compared)
        for (const kind of ['json', 'csv']) files['compare.' + kind] = engine.answer('compare_' + kind);
    engine.average();
    for (const kind of ['json', 'csv']) files['fit.' + kind] = engine.answer('fit_' + kind);
    say({ answer: { page, compared, files } });
}

self.onmessage = async ({ data }) => {
    try {
        let module = data.module;
        if (!module) {
            module = await unpack(data.code);
            const engine = new Engine(module);
            say({ module, keys: engine.keys(), version: engine.version(), demo: new Blob([bytesOf(data.demo)]) });
        }
        if (data.look) await look(module, data.look);
        if (data.answer) await answer(module, data.answer);
    } catch (error) {
        say({ refused: refusal(error) });
    }
    say({ done: true });
};
