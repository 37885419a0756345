/* What is asked beside the answer, each in a panel that reckons while it is open: on another hill
 * (elsewhere.js), and next time (next.js). A panel has
 *
 *   part      "predict" or "plan", the section of its keys
 *   place     the name of its part of the page, and of what is kept of it in the work
 *   said      what the worker calls its answer
 *   show()    makes its fields anew
 *   lacks()   in words, what must be given before it can be asked
 *   request() what the worker is asked
 *   files     names for what can be saved, by the worker's
 */

const panels = []; /* elsewhere.js and next.js add theirs */

const stateOf = (panel) => work[panel.place];

/* Whether an outing has been answered that what is left empty can be taken from. */
const fitted = () => Boolean(answered && jobs.held || asking && asking.like);

let asking = null; /* {panel, stop, like}: the one that is being asked */

function stopPanels() {
    if (asking) asking.stop();
    asking = null;
    for (const panel of panels) panel.waits = false;
}

function clearPanel(panel) {
    panel.answer = null;
    byId(panel.place + '-answer').replaceChildren();
}

/* Fields anew, where what they can be has changed: setups, whether there is an outing to be like. */
function showPanels() {
    for (const panel of panels) {
        byId(panel.place).open = stateOf(panel).open;
        panel.show();
    }
}

/* Something was given in a panel. */
function panelChanged(panel) {
    keepSoon();
    panel.old = true; /* still there to read, but marked, and not to be saved */
    byId(panel.place + '-answer').classList.toggle('old', Boolean(panel.answer));
    showKeep();
    clearTimeout(panel.later);
    panel.later = setTimeout(() => {
        /* The worker with the answer was stopped: it takes the whole way again. */
        if (!jobs.held && !asking && !stop && answered) answerAnew();
        else askPanel(panel);
    }, 350);
}

/* Of all that are open. */
function askPanels() {
    for (const panel of panels) askPanel(panel);
}

function askPanel(panel) {
    if (!stateOf(panel).open || stop || !jobs.module) return; /* asked when the answer is there */
    const lacks = panel.lacks();
    clearFaults(byId(panel.place));
    tell(panel.place + '-fault', '');
    tell(panel.place + '-needed', lacks.length ? `This follows once there is ${lacks.join(', ').replace(/, ([^,]*)$/, ' and $1')}.` : '');
    if (lacks.length) {
        clearPanel(panel);
        showKeep();
        return;
    }
    panel.waits = true;
    askNext();
}

function askNext() {
    const panel = !asking && panels.find(({ waits }) => waits);
    if (!panel) return;
    const like = fitted();
    panel.waits = false;
    asking = { panel, like, stop: () => {} };
    if (panel.slow) showProgress(panel.slow);
    asking.stop = jobs.ask({ [panel.part]: { ...panel.request(), like } }, {
        [panel.said]: (answer) => takePanel(panel, answer),
        refused: (refused) => takePanel(panel, { refused }),
        done: () => {
            asking = null;
            if (!stop) showProgress('');
            askNext();
        },
    });
}

function takePanel(panel, answer) {
    const place = byId(panel.place + '-answer');
    panel.old = false;
    clearFaults(byId(panel.place));
    if (answer.refused) {
        clearPanel(panel);
        const { field, file, line, message } = answer.refused, said = inPageWords(message);
        const at = /^(slopes|road|file)$/.test(field) ? `${panel.place}.${field}` : field;
        const text = file && line ? `${file}, line ${line}: ${said}` : said;
        if (!at || !showFault(at, text)) tell(panel.place + '-fault', text);
    } else {
        panel.answer = answer;
        const part = new DOMParser().parseFromString(answer.part, 'text/html');
        place.replaceChildren(...[...part.body.children].map((child) => document.importNode(child, true)));
        place.classList.remove('old');
    }
    showKeep();
}

/* The library speaks of the command's options; here they are fields. */
function inPageWords(message) {
    const option = (all, name) => '“' + (LABELS['predict.' + name] || LABELS['plan.' + name] || { whole: 'all the way' }[name] || name) + '”';
    return message.replace(/^([a-z]+(?:-[a-z0-9]+)*) is "/, (all, name) => (LABELS['predict.' + name] || LABELS['plan.' + name] ? 'this is "' : all))
        .replace(/--([a-z][a-z0-9-]*)/g, option);
}

function* panelFiles() {
    for (const panel of panels)
        for (const [name, kind] of panel.files) yield [name, panel.answer && !panel.old && panel.answer.files[kind]];
}

/* ---- fields that panels share ---- */

function panelField(panel, name, title, keys) {
    return makeField(panel.part, name, title, {
        get: (key) => keys.get(key) || '',
        set: (key, value) => (value ? keys.set(key, value) : keys.delete(key)),
    }, () => panelChanged(panel));
}

const roadKind = (panel) => stateOf(panel).road.kind || panel.usualRoad();

/* Where: [[key, value], ...] becomes {kind, ...} for the worker. */
const roadRequest = (panel) => {
    const { slopes, file, whole, run } = stateOf(panel).road;
    return { kind: roadKind(panel), slopes: inMetres(slopes), file, whole, run: Number(run) || 0 };
};

/* Lengths may be given in feet: "1300ft:-6". */
const inMetres = (slopes) => slopes.replace(/(\d+\.?\d*)ft(?=:)/g, (all, feet) => String(Number((Number(feet) * IMPERIAL.m.times).toFixed(2))));

function roadLacks(panel) {
    const { slopes, file } = stateOf(panel).road, kind = roadKind(panel);
    if (kind === 'slopes' && !slopes) return ['the road’s slopes'];
    if (kind === 'file' && !file) return ['a recording of the road'];
    return kind === 'outing' && !fitted() ? ['an answer above, whose road it is'] : [];
}

/* The fields of the road; along: whether a recording may be followed in other ways than by its coasts. */
function roadFields(panel, along) {
    const { road } = stateOf(panel), kind = roadKind(panel), { place } = panel;
    const set = (change) => {
        Object.assign(road, change);
        panelChanged(panel);
    };
    const fields = [choiceField(`${place}.road`, 'Road', '', [['outing', 'the road of this outing'], ['slopes', 'slopes, typed in'], ['file', 'that of a recording']],
        kind, (chosen) => { set({ kind: chosen }); panel.show(); byId(`field-${place}.road`).focus(); })];
    if (kind === 'slopes')
        fields.push(textField(`${place}.slopes`, 'Slopes', reads.imperial ? 'each LENGTH:PERCENT, with commas between them, downhill below 0, lengths in metres or with ft behind them: 1300ft:-6, 800ft:-3' : 'each METRES:PERCENT, with commas between them, downhill below 0: 400:-6, 250:-3', road.slopes, (text) => set({ slopes: text.replace(/\s+/g, '') })));
    if (kind === 'file') fields.push(fileField(panel, set));
    if (kind === 'file' && along) {
        fields.push(choiceField(`${place}.along`, 'Along', 'coasts of it are found as above', [['run', 'one of its coasts'], ['whole', 'all the way']], road.whole ? 'whole' : 'run',
            (chosen) => { set({ whole: chosen === 'whole' }); panel.show(); byId(`field-${place}.along`).focus(); }));
        if (!road.whole) fields.push(textField(`${place}.run`, 'Coast', 'its number, as runs are numbered above; left empty: the longest', road.run, (text) => set({ run: text })));
    }
    return fields;
}

function fileField(panel, set) {
    const { place } = panel, { file } = stateOf(panel).road, id = `field-${place}.file`;
    const input = make('input', { type: 'file', hidden: true, 'aria-label': 'Recording of the road' });
    const button = make('button', { type: 'button', id, 'aria-describedby': `${id}-fault ${id}-hint`, onclick: () => input.click() }, file ? 'Choose another' : 'Choose a recording');
    input.addEventListener('change', async () => {
        const [chosen] = input.files;
        if (!chosen) return;
        if (chosen.size > LARGEST) {
            showFault(`${place}.file`, `${chosen.name}: holds ${size(chosen.size)}; no recording does`);
            return;
        }
        set({ file: { name: fileName(chosen.name), blob: new Blob([await chosen.arrayBuffer()]) } });
        panel.show();
        byId(id).focus();
    });
    return make('div', { className: 'field', 'data-field': `${place}.file` }, make('label', { for: id }, 'Recording'),
        make('span', { className: 'entry' }, button, input, file ? make('bdi', {}, file.name) : null),
        make('small', { id: id + '-hint' }, 'GPX or TCX, gzipped or not'), make('p', { id: id + '-fault', className: 'fault', hidden: true }));
}

/* Whoever is at a field while it is made anew finds it again. */
function keepFocus(panel, show) {
    const { id } = document.activeElement || {}, within = id && byId(panel.place).contains(document.activeElement);
    show();
    if (within && byId(id)) byId(id).focus();
}

function setUpPanels() {
    for (const panel of panels) {
        const details = byId(panel.place);
        details.addEventListener('toggle', () => {
            if (stateOf(panel).open === details.open) return;
            stateOf(panel).open = details.open;
            keepSoon();
            if (details.open) panelChanged(panel);
        });
        if (panel.setUp) panel.setUp();
    }
}
