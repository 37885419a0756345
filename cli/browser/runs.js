/* The runs as they were found: a picture of each ride with its runs, and a row a run, where it gets
 * its setup or is left out. */

const RADIOS_MOST = 4; /* setups that fit beside a run; more are a list to choose from */
const PICTURES_MOST = 12;

const speedShown = (speed) => shownIn(speed * 3.6, 'km/h', 1);

/* What the library says of runs, as it is read. */
const inWords = (said) => (found.words && found.words.get(said)) || said;

/* Clock time at the outing's offset from UTC. */
function clock(iso, seconds = 0) {
    const offset = valueOf('outing', 'utc_offset').match(/^([+-])(\d\d):?(\d\d)$/);
    const minutes = offset ? (offset[1] === '-' ? -1 : 1) * (60 * Number(offset[2]) + Number(offset[3])) : 0;
    return new Date(Date.parse(iso) + 1000 * seconds + 60000 * minutes).toISOString().slice(11, 19);
}

/* The first eight setups have a colour of the pictures', as there. */
const colourOf = (setup) => (setup ? 'k' + work.setups.indexOf(setup) % 8 : 'kn');

/* ---- the picture ---- */

function drawRide(recording, heights, width) {
    const height = 150, foot = 22, head = 18;
    const points = heights.filter(([, metres]) => metres !== null);
    const last = recording.duration_s || 1;
    const low = Math.min(...points.map(([, metres]) => metres)), high = Math.max(...points.map(([, metres]) => metres));
    const x = (seconds) => 4 + (width - 8) * seconds / last;
    const y = (metres) => head + (height - head - foot) * (1 - (metres - low) / Math.max(high - low, 5));
    const runs = found.runs.filter((run) => run.recording === recording.file);
    const svg = draw('svg', { viewBox: `0 0 ${width} ${height}`, class: 'ride', role: 'img', 'aria-label': `Heights of ${recording.file} over time, with its runs; the rows below say the same` });
    let end = -Infinity;
    for (const run of runs) {
        const from = (Date.parse(run.start) - Date.parse(recording.start)) / 1000;
        const at = x(from), wide = Math.max(2, x(from + run.duration_s) - at);
        const out = !usable(run) || work.skipped.has(runName(run));
        const group = draw('g', { class: `span ${out ? 'out' : colourOf(setupById(work.labels.get(runName(run))) || onlySetup())}`, 'data-name': runName(run) },
            draw('rect', { x: at, y: head - 4, width: wide, height: height - head - foot + 8 }));
        /* Its number, where there is room for it. */
        const half = 4.5 * String(run.number).length, middle = Math.min(width - half - 1, Math.max(half + 1, at + wide / 2));
        if (!out && middle - half > end + 3) {
            end = middle + half;
            group.append(draw('text', { x: middle, y: head - 7, 'text-anchor': 'middle' }, String(run.number)));
        }
        group.addEventListener('click', () => goToRun(run));
        svg.append(group);
    }
    if (points.length) svg.append(draw('polyline', { class: 'heights', points: points.map(([seconds, metres]) => `${x(seconds).toFixed(1)},${y(metres).toFixed(1)}`).join(' ') }));
    const ticks = Math.max(2, Math.min(7, Math.floor(width / 90)));
    for (let i = 0; i < ticks; i++) {
        const seconds = last * i / (ticks - 1);
        svg.append(draw('text', { x: x(seconds), y: height - 5, class: 'tick', 'text-anchor': i ? i < ticks - 1 ? 'middle' : 'end' : 'start' }, clock(recording.start, seconds).slice(0, 5)));
    }
    return svg;
}

function drawRides() {
    const place = byId('rides'), width = Math.max(280, Math.round(place.clientWidth));
    if (!found) return place.replaceChildren();
    const ridden = found.recordings.map((recording, i) => ({ recording, heights: found.heights[i] || [] }))
        .filter(({ recording }) => found.runs.some((run) => run.recording === recording.file));
    place.replaceChildren(...ridden.slice(0, PICTURES_MOST).map(({ recording, heights }) => make('figure', {},
        drawRide(recording, heights, width),
        make('figcaption', {}, make('bdi', {}, recording.file), ` on ${recording.start.slice(0, 10)}: height over time, ${heightSpan(heights)}`))));
    if (ridden.length > PICTURES_MOST) place.append(make('p', { className: 'soft' }, `… and ${ridden.length - PICTURES_MOST} more recordings with runs.`));
}

function heightSpan(heights) {
    const metres = heights.map(([, height]) => height).filter((height) => height !== null);
    return metres.length ? `from ${shownIn(Math.min(...metres), 'm')} to ${shownIn(Math.max(...metres), 'm')}` : 'none recorded';
}

function goToRun(run) {
    const row = byId('run-rows').querySelector(`tr[data-name="${CSS.escape(runName(run))}"]`);
    if (!row) {
        byId('turned-down').open = true;
        return;
    }
    row.scrollIntoView({ block: 'center' });
    row.querySelector('input, select').focus({ preventScroll: true });
}

/* ---- rows ---- */

const onlySetup = () => (work.setups.length === 1 ? work.setups[0] : null);

function setLabel(run, id) {
    if (id) work.labels.set(runName(run), id);
    else work.labels.delete(runName(run));
    work.order = null; /* what was typed has given way */
    showLabels();
    workChanged();
}

function setupChoice(run) {
    const name = runName(run);
    if (ownSetups(run.recording)) return make('span', { className: 'soft' }, run.setup || 'as its recording says');
    if (!work.setups.length) return run === shownRuns()[0] ? make('a', { href: '#add-setup' }, 'name setups') : '';
    if (onlySetup()) return make('bdi', {}, onlySetup().name);
    if (work.setups.length > RADIOS_MOST) {
        const select = make('select', { 'aria-label': `Setup of run ${run.number}` }, make('option', { value: '' }, '–'),
            ...work.setups.map((setup) => make('option', { value: setup.id }, setup.name)));
        select.value = work.labels.get(name) || '';
        select.addEventListener('change', () => setLabel(run, Number(select.value)));
        return select;
    }
    return make('span', { className: 'choice', role: 'radiogroup', 'aria-label': `Setup of run ${run.number}` },
        ...work.setups.map((setup) => {
            const radio = make('input', { type: 'radio', name: 'setup-' + name, value: setup.id, checked: work.labels.get(name) === setup.id });
            radio.addEventListener('change', () => setLabel(run, setup.id));
            return make('label', { className: colourOf(setup) }, radio, make('bdi', {}, setup.name));
        }));
}

function runRow(run) {
    const name = runName(run), use = make('input', { type: 'checkbox', checked: !work.skipped.has(name), 'aria-label': `Use run ${run.number}` });
    use.addEventListener('change', () => {
        if (use.checked) work.skipped.delete(name);
        else work.skipped.add(name);
        showRoads();
        workChanged();
    });
    const row = make('tr', { 'data-name': name },
        make('th', { scope: 'row', className: 'number' }, String(run.number)),
        make('td', {}, make('label', { className: 'use' }, use)),
        make('td', {}, clock(run.start), found.recordings.length > 1 ? make('small', {}, make('bdi', {}, run.recording)) : null),
        make('td', { className: 'number' }, shownIn(run.distance_m, 'm')),
        make('td', { className: 'number' }, `${Math.round(run.duration_s)}\u00a0s`),
        make('td', { className: 'number', 'data-short': 'fell' }, shownIn(run.drop_m, 'm')),
        make('td', { className: 'number', 'data-short': 'top' }, speedShown(run.top_speed_ms)),
        make('td', { className: 'setup-of' }, setupChoice(run)),
        make('td', { className: 'soft' }, run.by_energy && !allByEnergy() ? 'told by its energy alone' : ''));
    /* Digits name setups; then on to the next run. */
    row.addEventListener('keydown', (event) => {
        const setup = /^[1-9]$/.test(event.key) && !event.ctrlKey && !event.metaKey && !event.altKey ? work.setups[Number(event.key) - 1] : null;
        if (!setup || work.setups.length < 2 || ownSetups(run.recording)) return;
        event.preventDefault();
        setLabel(run, setup.id);
        const next = row.nextElementSibling && row.nextElementSibling.querySelector('.choice input, select');
        if (next) next.focus();
    });
    return row;
}

/* Rows for runs that are kept or that the person left out; the others say why they were turned down. */
const shownRuns = () => found.runs.filter((run) => usable(run) || work.skipped.has(runName(run)));

/* Of an ordinary ride: the runs of the road that was coasted most, and those elsewhere. */
function ofOneRoad() {
    const roads = new Map(), shown = shownRuns();
    for (const run of shown) if (run.kept && run.road !== null) roads.set(run.road, [...roads.get(run.road) || [], run]);
    const most = [...roads.values()].reduce((a, b) => (b.length > a.length ? b : a), []);
    return { most, others: shown.filter((run) => !most.includes(run)) };
}

function showRoads() {
    const { most, others } = ofOneRoad(), left = others.every((run) => work.skipped.has(runName(run)));
    byId('roads').hidden = most.length < 2 || !others.length;
    const numbers = most.map(({ number }) => number), named = numbers.length < 9 ? `Runs ${numbers.slice(0, -1).join(', ')} and ${numbers[numbers.length - 1]}` : `${numbers.length} runs`;
    byId('roads-said').textContent = `${named} are on one road, where setups are best compared${left ? '; the others are not used.' : `; ${others.length === 1 ? 'another one is' : `${others.length} others are`} elsewhere.`}`;
    byId('roads-only').textContent = left ? 'Use all runs' : 'Use those of one road';
}

function useRoad() {
    const { others } = ofOneRoad(), left = others.every((run) => work.skipped.has(runName(run)));
    for (const run of others) {
        if (left) work.skipped.delete(runName(run));
        else work.skipped.add(runName(run));
    }
    showRuns();
    workChanged();
}

/* Nothing recorded whether anybody pedalled: said once. */
const allByEnergy = () => shownRuns().every((run) => run.by_energy);

function showRuns() {
    byId('runs-found').hidden = !found;
    if (!found) return tell('runs-none', '');
    const shown = shownRuns(), others = found.runs.filter((run) => !shown.includes(run));
    tell('runs-none', shown.length ? '' : 'No run was found that tells drag or rolling: nothing was coasted long enough without pedalling or braking, or all of it was turned down.');
    byId('run-table').hidden = !shown.length;
    showRoads();
    tell('runs-energy', shown.length && allByEnergy() ? 'No sensor says when the rider pedalled: that these are coasts is told by how speed and height go together.' : '');
    byId('run-rows').replaceChildren(...shown.map(runRow));
    byId('turned-down').hidden = !others.length;
    byId('turned-down-count').textContent = `${others.length} turned down, and why`;
    byId('turned-down-rows').replaceChildren(...others.slice(0, 500).map((run) => make('tr', {},
        make('th', { scope: 'row', className: 'number' }, String(run.number)),
        make('td', {}, clock(run.start)),
        make('td', { className: 'number' }, shownIn(run.distance_m, 'm')),
        make('td', { className: 'number' }, speedShown(run.top_speed_ms)),
        make('td', {}, run.reasons.map(inWords).join(', ')))));
    tell('runs-heights', found.heightsSaid && `The recorder: ${inWords(found.heightsSaid)}.`);
    tell('runs-clock', valueOf('outing', 'utc_offset') ? `Clock times are UTC${valueOf('outing', 'utc_offset')}.` : 'Clock times are UTC.');
    drawRides();
    showLabels();
}

/* What the labels are: in rows, in the picture, in the order typed. */
function showLabels() {
    if (!found) return;
    for (const row of byId('run-rows').rows) {
        const id = work.labels.get(row.dataset.name);
        for (const radio of row.querySelectorAll('input[type=radio]')) radio.checked = Number(radio.value) === id;
    }
    for (const span of byId('rides').querySelectorAll('.span:not(.out)'))
        span.setAttribute('class', `span ${colourOf(setupById(work.labels.get(span.dataset.name)) || onlySetup())}`);
    const order = byId('field-order');
    if (document.activeElement !== order) order.value = work.order !== null ? work.order : work.labels.size ? orderText() : '';
    byId('order-part').hidden = work.setups.length < 2 || !orderedRuns().length;
    const open = work.setups.length > 1 ? unlabelled() : [];
    tell('labels-open', open.length ? `${open.length === orderedRuns().length ? 'No run has' : `${open.length} of ${orderedRuns().length} runs have no`}${open.length === orderedRuns().length ? ' a' : ''} setup yet${open.length < 9 ? ': run' + (open.length > 1 ? 's ' : ' ') + open.map(({ number }) => number).join(', ') : ''}. Setups are compared once each run has one.` : '');
}

function setUpRuns() {
    const order = byId('field-order');
    order.addEventListener('change', () => {
        const text = order.value.trim();
        work.order = null;
        if (!text) work.labels.clear();
        else if (!labelInOrder(text)) work.order = text; /* the library says what is amiss */
        showLabels();
        workChanged();
    });
    byId('roads-only').addEventListener('click', useRoad);
    let width = 0;
    new ResizeObserver(() => {
        if (byId('rides').clientWidth === width) return;
        width = byId('rides').clientWidth;
        requestAnimationFrame(drawRides);
    }).observe(byId('rides'));
}
