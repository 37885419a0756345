/* Recordings: chosen or dropped, looked at one by one, listed. */

let demoRecording = null; /* unpacked with the library */

const LARGEST = 400e6; /* bytes: more than a recording has, and than a telephone can hold */

/* A name that no other file has. */
function ownName(name) {
    const clean = fileName(name), [, stem, ending] = clean.match(/^(.*?)((?:\.\w{1,4}){0,2})$/);
    for (let i = 2, at = clean; ; at = `${stem}-${i++}${ending}`)
        if (at !== OUTING && !work.recordings.some((file) => file.name === at)) return at;
}

function size(bytes) {
    return bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1e3))} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}

let adding = Promise.resolve();

/* Takes files in: [{name, blob}], those that were chosen first before the next. */
function addFiles(list) {
    if (!list.length) return;
    stopWork();
    showProgress('looking at the files');
    adding = adding.then(() => addNow(list)).catch((error) => tell('recordings-fault', error.message));
}

/* What is none of ours is said, and the others are taken. */
async function addNow(list) {
    const files = [], refused = [], before = work.recordings.length;
    for (const { name, blob } of list) {
        if (blob.size > LARGEST) {
            refused.push(`${name}: holds ${size(blob.size)}; no recording does`);
            continue;
        }
        try { /* what stands on the disk may change or go: a copy */
            files.push({ name, blob: new Blob([await blob.arrayBuffer()]) });
        } catch (error) {
            refused.push(`${name}: cannot be read (${error.message})`);
        }
    }
    const logs = files.filter(({ name }) => /\.csv$/i.test(name));
    const others = files.filter((file) => !logs.includes(file));
    let outing = null;
    await new Promise((done) => jobs.start({ look: { files: others } }, {
        progress: showProgress,
        looked: (file) => {
            const { blob } = others.find(({ name }) => name === file.name);
            if (file.refused) refused.push(`${file.name}${file.refused.line ? ':' + file.refused.line : ''}: ${file.refused.message}`);
            else if (file.outing && outing) refused.push(`${file.name}: one outing file at a time; ${outing.name} was taken`);
            else if (file.outing) outing = { name: file.name, entries: file.entries };
            else if (!takeWanted(file.name, blob, file.samples)) work.recordings.push({ name: ownName(file.name), blob, samples: file.samples });
        },
        refused: ({ message }) => refused.push(message),
        done,
    }));
    showProgress('');
    if (outing) {
        takeEntries(outing.entries);
        /* Recordings that were there before and that it does not name are not of this outing. */
        work.recordings = work.recordings.filter(({ name }) => work.wanted.includes(name));
        found = null;
    }
    for (const { name, blob } of logs) {
        const own = takeWanted(name, blob) ? fileName(name) : ownName(name);
        if (!work.recordings.some((file) => file.name === own)) work.recordings.push({ name: own, blob });
        setValue('outing', 'air_log', own);
    }
    tell('recordings-fault', refused.join('\n'));
    if (work.recordings.length > before || outing || logs.length) {
        work.demo = false;
        filesChanged(Boolean(outing));
    } else {
        answerAnew();
    }
}

/* A file that an opened outing file waits for, or a newer copy of one that is there: in its place. */
function takeWanted(name, blob, samples) {
    const clean = fileName(name), there = work.recordings.find((file) => file.name === clean);
    if (there && there.blob.size === blob.size) return true; /* the same once more */
    if (!(work.wanted || []).includes(clean) || there) return false;
    work.recordings.push({ name: clean, blob, samples });
    return true;
}

const missing = () => (work.wanted || []).filter((name) => !work.recordings.some((file) => file.name === name));

function removeFile(file) {
    work.recordings = work.recordings.filter((other) => other !== file);
    if (work.wanted) work.wanted = work.wanted.filter((name) => name !== file.name);
    if (valueOf('outing', 'air_log') === file.name) setValue('outing', 'air_log', '');
    filesChanged(false);
    byId('choose').focus();
}

function showRecordings() {
    byId('files').replaceChildren(...work.recordings.map((file) => make('li', { 'data-field': 'file ' + file.name },
        make('bdi', {}, file.name), ' ',
        make('span', { className: 'soft' }, file.samples === undefined ? `air log, ${size(file.blob.size)}`
            : `${file.samples.toLocaleString('en')} samples, ${size(file.blob.size)}`), ' ',
        make('button', { type: 'button', 'aria-label': 'Take away ' + file.name, onclick: () => removeFile(file) }, 'Take away'),
        make('p', { className: 'fault', hidden: true }))));
    const gone = missing();
    tell('files-missing', gone.length ? `The outing file names ${gone.join(', ')}: choose ${gone.length > 1 ? 'these files' : 'this file'} too.` : '');
    byId('demo-note').hidden = !work.demo;
}

function setUpRecordings() {
    const input = byId('file-input'), drop = byId('do-recordings');
    byId('choose').addEventListener('click', () => input.click());
    input.addEventListener('change', () => {
        const list = [...input.files].map((blob) => ({ name: blob.name, blob }));
        input.value = '';
        addFiles(list);
    });
    /* Anywhere on the page will do: who misses the box does not lose the page. */
    addEventListener('dragover', (event) => {
        event.preventDefault();
        drop.classList.add('over');
    });
    addEventListener('dragleave', (event) => {
        if (!event.relatedTarget) drop.classList.remove('over');
    });
    addEventListener('drop', (event) => {
        event.preventDefault();
        drop.classList.remove('over');
        addFiles([...event.dataTransfer.files].map((blob) => ({ name: blob.name, blob })));
    });
    byId('demo').addEventListener('click', openDemo);
}

/* The made-up outing that is in this file. */
function openDemo() {
    const outing = JSON.parse(byId('demo-outing').textContent);
    found = null;
    takeEntries(outing.entries);
    work.recordings = [{ name: outing.recording, blob: demoRecording, samples: outing.samples }];
    work.demo = true;
    tell('recordings-fault', '');
    filesChanged(true);
}
