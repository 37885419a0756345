/* Setups: what was tried, each with a name, a load and its tyres. */

function setupFields(setup) {
    const values = { get: (name) => setup.keys.get(name) || '', set: (name, value) => setup.keys.set(name, value) };
    const title = `setup ${setup.id}`;
    const id = `field-setup-${setup.id}-name`;
    const fault = make('p', { id: id + '-fault', className: 'fault', hidden: true });
    const name = make('input', { id, type: 'text', value: setup.name, autocomplete: 'off', spellcheck: false, 'aria-describedby': `${fault.id} ${id}-hint` });
    name.addEventListener('input', () => {
        setup.name = name.value.trim();
        workChanged();
    });
    name.addEventListener('change', showRuns);
    const remove = make('button', { type: 'button', 'aria-label': `Take away setup ${setup.name}` }, 'Take away');
    remove.addEventListener('click', () => {
        removeSetup(setup);
        showSetups();
        showRuns();
        workChanged();
        byId('add-setup').focus();
    });
    const more = ['description', 'pressure_kpa', 'drag'].map((key) => makeField('setup', key, title, values, workChanged));
    return make('fieldset', { className: 'setup' }, make('legend', {}, make('span', { className: 'swatch ' + colourOf(setup) }), ` Setup ${work.setups.indexOf(setup) + 1}`),
        make('div', { className: 'fields' },
            make('div', { className: 'field', 'data-field': `${title}.name` }, make('label', { for: id }, 'Name'), make('span', { className: 'entry' }, name),
                make('small', { id: id + '-hint' }, 'one word: cape, jacket, low'), fault),
            makeField('setup', 'load_kg', title, values, workChanged), makeField('setup', 'tyres', title, values, workChanged)),
        make('details', {}, make('summary', {}, 'More of this setup'), make('div', { className: 'fields' }, ...more)), remove);
}

function showSetups() {
    byId('setup-list').replaceChildren(...work.setups.map(setupFields));
}

function setUpSetups() {
    byId('add-setup').addEventListener('click', () => {
        let n = work.setups.length;
        const taken = (name) => work.setups.some((setup) => setup.name === name);
        let name;
        do name = String.fromCharCode(97 + n % 26) + (n < 26 ? '' : Math.floor(n / 26)); while (n++ < 1000 && taken(name));
        const setup = addSetup(name);
        showSetups();
        showRuns();
        workChanged();
        const field = byId(`field-setup-${setup.id}-name`);
        field.focus();
        field.select();
    });
}
