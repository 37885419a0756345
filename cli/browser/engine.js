/* The library, as a page's script calls it (module.c): one analysis of some files. An engine is for one
 * piece of work and is then let go, so that whatever memory it took is given back. */
'use strict';

/* Bytes of a text in base64; a loop, as a call a byte takes ten times as long. */
function bytesOf(code) {
    const letters = atob(code), bytes = new Uint8Array(letters.length);
    for (let i = 0; i < letters.length; i++) bytes[i] = letters.charCodeAt(i);
    return bytes;
}

/* What the library refuses: its own sentence, and the file and line that it is about. */
class Refused extends Error {
    constructor(file, line, message) {
        super(message);
        this.file = file;
        this.line = line;
    }
}

class Engine {
    /* on.progress(doing, i, n, file) and on.notice({kind, file, line, message}), either may be missing;
     * on.imperial: what people read is in miles, feet and pounds. */
    constructor(module, on = {}) {
        this.system = new System();
        const instance = new WebAssembly.Instance(module, {
            wasi_snapshot_preview1: this.system.imports(),
            page: {
                progress: (doing, i, n, file) => {
                    if (on.progress) on.progress(this.system.text(doing), i, n, this.system.text(file));
                },
                notice: (kind, file, line, message) => {
                    if (on.notice)
                        on.notice({ kind, file: this.system.text(file), line, message: this.system.text(this.calls.sentence(message)) });
                },
            },
        });
        this.calls = instance.exports;
        this.system.memory = this.calls.memory;
        this.calls._initialize();
        this.calls.read_in(on.imperial ? 1 : 0);
    }

    put(name, bytes) {
        this.system.files.set(name, bytes);
    }

    /* Lends bytes, with a zero byte behind them, to a call. */
    lend(bytes, call) {
        const at = this.calls.malloc(bytes.length + 1);
        if (!at) throw new Refused('', 0, 'not enough memory');
        const there = new Uint8Array(this.calls.memory.buffer, at, bytes.length + 1);
        there.set(bytes);
        there[bytes.length] = 0;
        try {
            return call(at, bytes.length);
        } finally {
            this.calls.free(at);
        }
    }

    lendText(text, call) {
        return this.lend(new TextEncoder().encode(text), call);
    }

    do(status) {
        if (status >= 0) return status;
        const { text } = this.system, of = (at) => text.call(this.system, at);
        throw new Refused(of(this.calls.error_file()), this.calls.error_line(), of(this.calls.error_message()));
    }

    /* What the last call has to say. */
    said(status) {
        this.do(status);
        return this.system.string(this.calls.text(), this.calls.length());
    }

    /* A sentence of the library's as it is read. */
    sentence(text) { return this.lendText(text, (at) => this.system.text(this.calls.sentence(at))); }
    version() { return this.system.text(this.calls.version()); }
    keys() { return JSON.parse(this.said(this.calls.keys())); }
    entries(bytes, file) {
        return this.lend(bytes, (at, length) => this.lendText(file, (name) => JSON.parse(this.said(this.calls.entries(at, length, name)))));
    }
    look(name) { return this.lendText(name, (at) => JSON.parse(this.said(this.calls.look(at)))); }
    openOuting(name) { this.lendText(name, (at) => this.do(this.calls.open_outing(at))); }
    openRecordings(names) { this.lendText(names.join('\n'), (at) => this.do(this.calls.open_recordings(at, names.length))); }
    find() { this.do(this.calls.find()); }
    /* {hpa, uncertainty_hpa, height_m}: what a weather report's pressure is at the hill. */
    hillPressure(seaLevelHpa) { return JSON.parse(this.said(this.calls.hill_pressure(seaLevelHpa))); }
    doubtPressure() { return this.said(this.calls.doubt_pressure()); }
    check(withSetups) { this.do(this.calls.check(withSetups ? 1 : 0)); }
    fit() { this.do(this.calls.fit()); }
    compare() { this.do(this.calls.compare()); }
    average() { this.do(this.calls.average()); }
    page(name) { return this.lendText(name, (at) => this.said(this.calls.page(at))); }
    heights() { return JSON.parse(this.said(this.calls.heights_json())); }
    averaged() { return this.calls.averaged() !== 0; }
    compared() { return this.calls.compared() !== 0; }
    /* Numbers that a prediction or a plan may be given, as keys. */
    asked() { return [...JSON.parse(this.said(this.calls.predict_keys())), ...JSON.parse(this.said(this.calls.plan_keys()))]; }
    recorders() { return JSON.parse(this.said(this.calls.plan_recorders())); }
    /* what: "runs_json", "runs_csv", "fit_json", "fit_csv", "compare_json", "compare_csv",
     * "predict_json", "predict_csv", "plan_json", "plan_csv", "plan_sheet", "plan_outing". */
    answer(what) { return this.said(this.calls[what]()); }

    /* A call whose arguments are texts and numbers. */
    call(name, ...given) {
        const lend = (done, [next, ...rest]) => {
            if (next === undefined) return this.do(this.calls[name](...done) || 0);
            if (typeof next === 'number') return lend([...done, next], rest);
            return this.lendText(next, (at) => lend([...done, at], rest));
        };
        return lend([], given);
    }
}
