/* The answer: the page that `coastwise report` makes, shown here. Its script and styles are allowed by
 * their checksums, as in the page itself; nothing else in it could do anything. */

let answered = null; /* {page, compared, files, setups}: the last two a little later */
let showing = 0;     /* counts answers: one that is overtaken is not put in further */

function showProgress(text) {
    byId('progress-part').hidden = !text;
    byId('progress').textContent = text ? text[0].toUpperCase() + text.slice(1) + ' …' : '';
}

/* What is still to be given before there can be an answer. */
function needed() {
    const list = [];
    if (!missing().length && !work.recordings.some(({ samples }) => samples !== undefined)) list.push(['do-recordings', 'a recording']);
    for (const field of NEEDED) {
        const [section, name] = field.split('.');
        if (!insteadOf(keyOf(section, name)).some((key) => valueOf(section, key.name)))
            list.push(['field-' + field, name === 'mass_kg' && section === 'rider' ? 'the rider’s mass' : 'the bicycle’s mass']);
    }
    if (missing().length) list.push(['do-recordings', missing().join(', ')]);
    return list;
}

function showNeeded() {
    const list = needed(), place = byId('needed');
    place.hidden = !list.length;
    if (!list.length) return;
    place.replaceChildren('The answer follows by itself once there is ',
        ...list.flatMap(([id, what], i) => [i ? i < list.length - 1 ? ', ' : ' and ' : '', make('a', { href: '#' + id }, what)]), '.');
}

/* What a report says to type is for a terminal: here there are parts of the page for it. */
const INSTEAD = [
    [/[:;] coastwise predict --road .*$/, ': see', 'And on another hill', '#do-elsewhere'],
    [/[:;] coastwise plan --(like|road) .*$/, ': see', 'And next time', '#do-next'],
];

function sayWhere(report) {
    for (const item of report.querySelectorAll('li')) {
        const found = INSTEAD.find(([command]) => command.test(item.textContent));
        if (!found) continue;
        const [command, see, part, place] = found;
        item.replaceChildren(`${item.textContent.replace(command, '')}${see} `, make('a', { href: place }, part), ', below');
    }
    for (const said of report.querySelectorAll('.answers li'))
        if (said.textContent.includes('what to type')) said.textContent = said.textContent.replace('what to type follows below', 'give each run the one that it was in, above');
    for (const lines of report.querySelectorAll('.answer pre'))
        lines.replaceWith(make('p', {}, 'To compare setups: name them under ', make('a', { href: '#head-setups' }, 'Setups'), ', and give each run of that road the one that it was in; there is a button below the ', make('a', { href: '#head-runs' }, 'runs'), ' to use no others.'));
}

/* Takes the report's parts into this page, a part at a time, so that nothing waits for a long one. */
async function showAnswer(answer) {
    const now = ++showing, breathe = breather();
    answered = { files: {}, setups: false, ...answer };
    /* Without its head, whose styles are for a page of its own. */
    const report = new DOMParser().parseFromString(answer.page.slice(answer.page.indexOf('<body')), 'text/html');
    const script = report.querySelector('script').textContent;
    const title = report.querySelector('header h1'), heading = report.createElement('h2');
    heading.append(...title.childNodes);
    title.replaceWith(heading);
    sayWhere(report);
    const parts = [...report.querySelector('header').children, ...report.querySelector('main').children, ...report.querySelector('footer').children];
    const shelf = byId('answer-page');
    dispatchEvent(new Event('coastwise-answer')); /* the script of the answer before lets go */
    for (const old of document.querySelectorAll('.reading, .bar')) old.remove();
    shelf.replaceChildren();
    shelf.setAttribute('aria-busy', 'true');
    const place = (part) => document.importNode(part, true);
    for (const part of parts) {
        if (part.classList.contains('board')) {
            const board = document.importNode(part, false);
            shelf.append(board);
            for (const section of part.children) {
                board.append(place(section));
                await breathe();
                if (now !== showing) return;
            }
        } else if (part.tagName !== 'SCRIPT') {
            shelf.append(place(part));
        }
        await breathe();
        if (now !== showing) return;
    }
    const run = document.createElement('script');
    run.textContent = script;
    shelf.append(run);
    shelf.classList.remove('old');
    shelf.removeAttribute('aria-busy');
    showKeep();
}

/* What is not shown of it but can be saved or asked of. */
function addNumbers(numbers) {
    Object.assign(answered, numbers);
    showKeep();
}

/* An answer of what was given before: still there to read, but marked. */
function ageAnswer() {
    byId('answer-page').classList.toggle('old', Boolean(answered));
}

function dropAnswer() {
    showing++;
    answered = null;
    byId('answer-page').replaceChildren();
    for (const old of document.querySelectorAll('.reading, .bar')) old.remove();
    showKeep();
}
