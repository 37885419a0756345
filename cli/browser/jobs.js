/* Work in the background. Each piece of work has a worker to itself, which is ended when it is done or
 * no longer wanted: its memory is given back, and nothing that goes wrong there stays. Only one that
 * has gone the whole way is held, to be asked what else follows, until something else is given. */

const jobs = {
    module: null, /* the compiled library, once the first worker has made it */
    code: null,   /* where a worker's script is */
    idle: null,   /* a worker that waits for the next piece of work */
    held: null,   /* one that has the answer, and is not at work */

    spawn() {
        /* Not revoked: a worker may ask for it later than it is made. */
        if (!this.code) this.code = URL.createObjectURL(new Blob([document.getElementById('code-worker').textContent], { type: 'text/javascript' }));
        return new Worker(this.code);
    },

    /* Compiles the library; gives what it says of itself (keys, version) and the demo's recording. */
    begin() {
        return new Promise((done, failed) => {
            const worker = this.spawn();
            let library = null;
            worker.onmessage = ({ data }) => {
                if (data.refused) failed(new Error(data.refused.message));
                if (data.module) library = data;
                if (!data.done || !library) return;
                this.module = library.module;
                this.idle = worker;
                done(library);
            };
            worker.onerror = (event) => failed(new Error(event.message || 'no worker'));
            const text = (id) => document.getElementById(id).textContent.trim();
            worker.postMessage({ code: text('code-module'), demo: text('demo-recording') });
        });
    },

    /* Starts a piece of work: {look: ...} or {answer: ...}. on[kind](what) is called with whatever
     * the worker says, on.done() at the end. Gives a function that ends it early. */
    start(what, on) {
        const worker = this.idle || this.spawn();
        this.idle = null;
        return this.go(worker, what, on);
    },

    /* {predict: ...} or {plan: ...}: of the worker that has the answer, where one has. */
    ask(what, on) {
        const worker = this.held;
        this.held = null;
        return worker ? this.go(worker, what, on) : this.start(what, on);
    },

    letGo() {
        if (this.held) this.held.terminate();
        this.held = null;
    },

    go(worker, what, on) {
        const end = () => {
            worker.onmessage = null;
            worker.terminate();
            if (!this.idle) this.idle = this.spawn();
        };
        worker.onmessage = ({ data }) => {
            if (data.done) {
                if (data.held) this.held = worker;
                else end();
                on.done();
            } else {
                for (const kind of Object.keys(data)) if (on[kind]) on[kind](data[kind]);
            }
        };
        worker.onerror = (event) => {
            event.preventDefault();
            if (on.refused) on.refused({ file: '', line: 0, message: 'the work broke off: ' + event.message });
            end();
            on.done();
        };
        worker.postMessage({ module: this.module, imperial: reads.imperial, ...what });
        return end;
    },
};
