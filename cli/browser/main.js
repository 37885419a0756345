/* What leads from a change to an answer. */

let stop = null, later = null, lastRuns = '';

function stopWork() {
    clearTimeout(later);
    if (stop) stop();
    stop = null;
    stopPanels();
    showProgress('');
}

function showAll() {
    showRecordings();
    showSetups();
    showRider();
    showRuns();
    showNeeded();
    showPanels();
    showKeep();
}

/* Something was typed or ticked: the answer is no longer of what is there. */
function workChanged() {
    tell('restored', '');
    tell('forgotten', '');
    ageAnswer();
    showNeeded();
    showKeep();
    keepSoon();
    clearTimeout(later);
    later = setTimeout(() => answerAnew(), 350);
}

/* Read in other units: what is shown is made anew. */
function unitsChanged() {
    ageAnswer();
    lastRuns = '';
    keepSoon();
    showAll();
    answerAnew();
}

/* Other recordings: their runs are not known. */
function filesChanged(opened) {
    found = null;
    lastRuns = '';
    dropAnswer();
    if (!opened && work.recordings.length && !valueOf('outing', 'utc_offset')) suggestOffset();
    showAll();
    workChanged();
    clearTimeout(later);
    answerAnew();
}

/* Where nothing says another offset, the clock of this device, as it was today; it stands in a field. */
function suggestOffset() {
    const minutes = -new Date().getTimezoneOffset(), size = Math.abs(minutes);
    const two = (n) => String(n).padStart(2, '0');
    setValue('outing', 'utc_offset', `${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`);
}

/* What the library says to type stands at the end, and is for a terminal. */
const withoutCommand = (message) => message.replace(/[,;] (or|to [^,;]*,) type: coastwise .*$/, '').replace('leave runs out with "skip"', 'untick those that are not to be used');

/* Says a fault where it belongs: at a field, at a file, or above the answer. */
function place(fault, composed) {
    const line = fault.file === OUTING && fault.line ? composed.fields[fault.line] : null;
    const named = fault.message.match(/^(\w+) is missing from \[([^\]]+)\]/);
    const field = fault.field || line || (named && `${named[2]}.${named[1]}`);
    const atFile = work.recordings.some(({ name }) => name === fault.file) ? 'file ' + fault.file : null;
    const order = field && /\.(order|skip)$/.test(field) ? 'order' : field;
    const said = withoutCommand(fault.message);
    const message = atFile && fault.line ? `line ${fault.line}: ${said}` : said;
    if ((order && showFault(order, message)) || (atFile && showFault(atFile, message))) {
        tell('work-fault', 'There is no answer yet: see the field that is marked.');
        return;
    }
    tell('work-fault', `${fault.file && fault.file !== OUTING ? fault.file + ': ' : ''}${message}`);
}

function takeRuns({ found: text, heights, csv, words }) {
    const first = !found;
    const parsed = JSON.parse(text);
    found = { runs: parsed.runs, recordings: parsed.recordings, heights, text, csv, words, heightsSaid: parsed.heights ? parsed.heights.said : '' };
    const had = work.order !== null || work.skip !== null;
    if (first || had) takeOrder();
    if (text !== lastRuns) showRuns();
    lastRuns = text;
    showKeep();
}

/* settling: only that the order fits the runs, which are others than those that it was made for. */
function answerAnew(settling = false) {
    stopWork();
    jobs.letGo();
    clearFaults(byId('main'));
    tell('work-fault', '');
    if (!jobs.module) return;
    if (!work.recordings.some(({ samples }) => samples !== undefined)) return askPanels();
    const composed = compose(), notices = [];
    const files = work.recordings.map(({ name, blob }) => ({ name, blob }));
    const names = work.recordings.filter(({ samples }) => samples !== undefined).map(({ name }) => name);
    let faults = 0, again = false, unsaid = false;
    showProgress('beginning');
    stop = jobs.start({ answer: { files, names, outing: OUTING, text: composed.text, whole: !needed().length, report: weatherReport() } }, {
        progress: showProgress,
        notice: ({ file, message }) => notices.push(`${file ? file + ': ' : ''}${message}`),
        runs: (what) => {
            takeRuns(what);
            /* An outing's runs may be fewer than its recordings': what the labels now make of the order
             * was not yet said to the library. */
            unsaid = compose().text !== composed.text;
            if (unsaid && !settling) again = true;
        },
        refused: (fault) => {
            if (!faults++) place(fault, composed);
        },
        reduced: (what) => {
            work.reduced = what;
            again = true;
            showReduced();
        },
        doubt: ({ field, message }) => showFault(field, message),
        answer: (what) => { if (!again) showAnswer(what); },
        numbers: (what) => { if (!again) addNumbers(what); },
        done: () => {
            stop = null;
            showProgress('');
            tell('notices', [...new Set(notices)].join('\n'));
            if (again) return answerAnew(unsaid);
            showPanels();
            askPanels();
        },
    });
}

async function restore() {
    try {
        const kept = await store.load('work');
        if (!kept || !kept.recordings.length && !kept.setups.length) return;
        work = { ...emptyWork(), ...kept };
        tell('restored', 'This is where you left off; it was kept on this device.');
    } catch {
        /* Nothing was kept, or nothing can be: that is said when something is to be kept. */
    }
}

async function begin() {
    setUpRecordings();
    setUpRuns();
    setUpSetups();
    setUpPanels();
    setUpKeep();
    byId('stop').addEventListener('click', () => {
        const asked = Boolean(stop);
        stopWork();
        if (asked) tell('work-fault', 'Stopped. Any change begins anew.');
    });
    const [library] = await Promise.all([jobs.begin(), restore(), setUpUnits()]);
    keys = library.keys;
    recorders = library.recorders;
    demoRecording = library.demo;
    byId('version').textContent = library.version;
    showAll();
    byId('starting').hidden = true;
    document.documentElement.dataset.ready = 'yes';
    answerAnew();
}

begin().catch((error) => {
    byId('starting').hidden = false;
    byId('starting').textContent = `This browser cannot run the page (${error.message}): use a current one.`;
});
