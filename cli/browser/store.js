/* The work is kept in the browser's own storage on this device, so that it survives a reload. Where a
 * browser keeps nothing for pages opened from disk, that is said. */

const store = {
    database: null,

    open() {
        return new Promise((done, failed) => {
            const asked = indexedDB.open('coastwise', 1);
            asked.onupgradeneeded = () => asked.result.createObjectStore('work');
            asked.onsuccess = () => done(asked.result);
            asked.onerror = asked.onblocked = () => failed(asked.error || new Error('storage is in use'));
        });
    },

    async request(mode, ask) {
        if (!this.database) this.database = await this.open();
        return new Promise((done, failed) => {
            const transaction = this.database.transaction('work', mode);
            const asked = ask(transaction.objectStore('work'));
            transaction.oncomplete = () => done(asked.result);
            transaction.onerror = transaction.onabort = () => failed(transaction.error || new Error('storage is full'));
        });
    },

    /* 'work' or 'units'; undefined: nothing is kept. */
    async load(what) {
        return this.request('readonly', (all) => all.get(what));
    },

    save(what, value) {
        return this.request('readwrite', (all) => all.put(value, what));
    },

    forget() {
        return this.request('readwrite', (all) => all.clear());
    },
};

let saving = null;

/* Soon, and once for many changes. */
function keepSoon() {
    clearTimeout(saving);
    saving = setTimeout(keepNow, 300);
}

async function keepNow() {
    clearTimeout(saving);
    try {
        await store.save('work', work);
        tell('storage-fault', '');
    } catch (error) {
        tell('storage-fault', `This browser keeps nothing for this page (${error.message || error.name}): save the outing file before you leave.`);
    }
}
