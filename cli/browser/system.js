/* The system that the library finds itself on: files in memory in one folder, a clock, and nothing
 * else. It is what WASI (preview 1) asks for, as far as the library calls it; numbers of errors and
 * layouts are WASI's. */
'use strict';

class System {
    constructor() {
        this.files = new Map(); /* name: Uint8Array */
        this.open = new Map();  /* file descriptor: {bytes, at} */
        this.memory = null;     /* set once the module has one */
    }

    static FOLDER = 3; /* the file descriptor of the one folder */
    static ERROR = { none: 0, descriptor: 8, invalid: 28, missing: 44, unable: 52, readonly: 69 };
    static KIND = { device: 2, folder: 3, file: 4 };

    view() {
        return new DataView(this.memory.buffer);
    }

    string(at, length) {
        return new TextDecoder().decode(new Uint8Array(this.memory.buffer, at, length));
    }

    /* A text that ends in a zero byte. */
    text(at) {
        if (!at) return '';
        const bytes = new Uint8Array(this.memory.buffer, at);
        return new TextDecoder().decode(bytes.subarray(0, bytes.indexOf(0)));
    }

    /* "./a", "/a" and "a" are one file. */
    find(at, length) {
        return this.files.get(this.string(at, length).replace(/^(\.?\/)+/, ''));
    }

    writeAbout(at, kind, size) {
        const view = this.view();
        for (let i = 0; i < 64; i += 8) view.setBigUint64(at + i, 0n, true);
        view.setUint8(at + 16, kind);
        view.setBigUint64(at + 24, 1n, true);
        view.setBigUint64(at + 32, BigInt(size), true);
    }

    imports() {
        const { ERROR, KIND, FOLDER } = System;
        const word = (at, value) => this.view().setUint32(at, value, true);
        return {
            environ_sizes_get: (count, size) => {
                word(count, 0);
                word(size, 0);
                return ERROR.none;
            },
            environ_get: () => ERROR.none,
            clock_time_get: (clock, precision, at) => {
                this.view().setBigUint64(at, BigInt(Math.round(Date.now() * 1e6)), true);
                return ERROR.none;
            },
            sched_yield: () => ERROR.none,
            proc_exit: (code) => {
                throw new Error('the module ended with ' + code);
            },
            fd_prestat_get: (fd, at) => {
                if (fd !== FOLDER) return ERROR.descriptor;
                word(at, 0);
                word(at + 4, 1);
                return ERROR.none;
            },
            fd_prestat_dir_name: (fd, at) => {
                this.view().setUint8(at, '/'.charCodeAt(0));
                return ERROR.none;
            },
            fd_fdstat_get: (fd, at) => {
                if (fd > FOLDER && !this.open.has(fd)) return ERROR.descriptor;
                const view = this.view();
                view.setBigUint64(at, 0n, true);
                view.setUint8(at, fd === FOLDER ? KIND.folder : fd < FOLDER ? KIND.device : KIND.file);
                view.setBigUint64(at + 8, 0xffffffffn, true);
                view.setBigUint64(at + 16, 0xffffffffn, true);
                return ERROR.none;
            },
            fd_fdstat_set_flags: () => ERROR.none,
            path_open: (folder, how, path, length, flags, rights, inherited, more, fd) => {
                const bytes = this.find(path, length);
                if (!bytes) return flags ? ERROR.readonly : ERROR.missing;
                let next = FOLDER + 1;
                while (this.open.has(next)) next++;
                this.open.set(next, { bytes, at: 0 });
                word(fd, next);
                return ERROR.none;
            },
            path_filestat_get: (folder, how, path, length, at) => {
                const bytes = this.find(path, length);
                if (!bytes) return ERROR.missing;
                this.writeAbout(at, KIND.file, bytes.length);
                return ERROR.none;
            },
            fd_read: (fd, vectors, n, read) => {
                const file = this.open.get(fd);
                const view = this.view();
                let total = 0;
                for (let i = 0; file && i < n; i++) {
                    const at = view.getUint32(vectors + 8 * i, true);
                    const part = file.bytes.subarray(file.at, file.at + view.getUint32(vectors + 8 * i + 4, true));
                    new Uint8Array(this.memory.buffer, at).set(part);
                    file.at += part.length;
                    total += part.length;
                }
                word(read, total);
                return file || fd < FOLDER ? ERROR.none : ERROR.descriptor;
            },
            fd_seek: (fd, offset, whence, at) => {
                const file = this.open.get(fd);
                if (!file) return ERROR.descriptor;
                const to = Number(offset) + [0, file.at, file.bytes.length][whence];
                if (!(to >= 0)) return ERROR.invalid;
                file.at = to;
                this.view().setBigUint64(at, BigInt(to), true);
                return ERROR.none;
            },
            fd_write: (fd, vectors, n, wrote) => { /* the library prints nothing */
                const view = this.view();
                let total = 0;
                for (let i = 0; i < n; i++) total += view.getUint32(vectors + 8 * i + 4, true);
                word(wrote, total);
                return ERROR.none;
            },
            fd_close: (fd) => (this.open.delete(fd) ? ERROR.none : ERROR.descriptor),
        };
    }
}
