/* To keep: files to save, and all to forget. */

function save(name, text, type) {
    const url = URL.createObjectURL(new Blob([text], { type }));
    const link = make('a', { href: url, download: name });
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(url), 10000);
}

/* Of the outing's name, as a file may be called. */
function stem() {
    const name = valueOf('outing', 'name') || recordingsName() || 'outing';
    return name.normalize('NFKD').replace(/[^\w-]+/g, '-').replace(/^-+|-+$/g, '').toLowerCase().slice(0, 60) || 'outing';
}

const TYPES = { json: 'application/json', csv: 'text/csv', html: 'text/html', ini: 'text/plain' };

function savable() {
    const files = [['outing.ini', work.recordings.length ? () => compose().text : null], ['page.html', answered && (() => answered.page)]];
    for (const name of ['compare.json', 'compare.csv', 'fit.json', 'fit.csv'])
        files.push([name, answered && answered.files[name] ? () => answered.files[name] : null]);
    files.push(['runs.json', found && (() => found.text)], ['runs.csv', found && (() => found.csv)]);
    for (const [name, text] of panelFiles()) files.push([name, text && (() => text)]);
    return files;
}

function showKeep() {
    for (const [name, text] of savable()) document.querySelector(`[data-save="${name}"]`).disabled = !text;
    byId('print').disabled = !answered;
    byId('forget').disabled = !work.recordings.length && !work.setups.length;
}

function setUpKeep() {
    for (const button of document.querySelectorAll('[data-save]'))
        button.addEventListener('click', () => {
            const name = button.dataset.save, [, text] = savable().find(([other]) => other === name);
            if (text) save(`${stem()}${name === 'outing.ini' ? '.ini' : name === 'page.html' ? '.html' : '-' + name}`, text(), TYPES[name.split('.').pop()]);
        });
    byId('print').addEventListener('click', () => print());
    const sure = byId('forget-sure');
    byId('forget').addEventListener('click', () => {
        sure.hidden = false;
        byId('forget-yes').focus();
    });
    byId('forget-no').addEventListener('click', () => {
        sure.hidden = true;
        byId('forget').focus();
    });
    byId('forget-yes').addEventListener('click', forgetAll);
}

async function forgetAll() {
    stopWork();
    jobs.letGo();
    clearTimeout(saving);
    work = emptyWork();
    found = null;
    byId('forget-sure').hidden = true;
    dropAnswer();
    clearFaults(byId('main'));
    for (const id of ['recordings-fault', 'work-fault', 'restored', 'notices']) tell(id, '');
    showAll();
    try {
        await store.forget();
        tell('forgotten', 'Everything was forgotten.');
    } catch {
        tell('forgotten', 'Nothing had been kept.');
    }
    byId('choose').focus();
}
