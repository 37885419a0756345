/* Rider and air, and what else an outing file says of the whole outing. */

const FIRST = [['rider', 'mass_kg'], ['bike', 'mass_kg'], ['air', 'temperature_c'], ['air', 'pressure_hpa'],
    ['air', 'humidity_percent'], ['air', 'wind_along_ms'], ['air', 'wind_uncertainty_ms']];
const MORE = [['outing', 'name'], ['outing', 'elevation'], ['outing', 'utc_offset'], ['rider', 'mass_uncertainty_kg'], ['bike', 'mass_uncertainty_kg'],
    ['bike', 'wheel_inertia_kgm2'], ['bike', 'wheel_radius_m'], ['air', 'temperature_uncertainty_c'], ['air', 'pressure_uncertainty_hpa'],
    ['air', 'humidity_uncertainty_percent'], ['rolling', 'crr'], ['rolling', 'crr_uncertainty']];

/* Sections that an opened outing file has and the page has no fields for: companions, a recording's own
 * air, notes of each run. They are kept as they are. */
function otherLines() {
    const shown = new Set([...FIRST, ...MORE].flatMap(([section, name]) => insteadOf(keyOf(section, name)).map((key) => `${section}.${key.name}`)));
    const lines = [];
    for (const [title, values] of work.sections) {
        const others = [...values].filter(([name]) => !shown.has(`${title}.${name}`) && `${title}.${name}` !== 'outing.air_log');
        if (others.length) lines.push(`[${title}]`, ...others.map(([name, value]) => `${name} = ${value}`));
    }
    return lines.join('\n');
}

/* The pressure, and whose it is: a weather report's is reduced by the library, and stands in the outing
 * file as it is at the hill. */
function pressureField() {
    const sea = work.seaLevel !== null;
    const field = makeField('air', 'pressure_hpa', 'air', {
        get: (name) => (!sea ? valueOf('air', name) : name === 'pressure_hpa' ? work.seaLevel : ''),
        set: (name, value) => {
            const { times } = keyOf('air', name);
            if (!sea) setValue('air', name, value);
            else if (value || name === 'pressure_hpa') work.seaLevel = fromTo(value, { unit: name, times: times || 1, plus: 0 }, { unit: 'hPa', times: 1, plus: 0 }, KEPT);
        },
    }, workChanged);
    const whose = make('select', { id: 'pressure-whose', 'aria-label': 'Whose pressure it is' },
        make('option', { value: 'hill' }, 'measured at the hill'), make('option', { value: 'sea' }, 'of a weather report'));
    whose.value = sea ? 'sea' : 'hill';
    whose.addEventListener('change', () => {
        const value = sea ? work.seaLevel : valueOf('air', 'pressure_hpa');
        work.seaLevel = sea ? null : value;
        setValue('air', 'pressure_hpa', sea ? value : '');
        work.reduced = null;
        showRider();
        byId('pressure-whose').focus();
        workChanged();
    });
    field.querySelector('.entry').append(whose);
    field.append(make('small', { id: 'pressure-reduced', role: 'status' }));
    return field;
}

/* What a weather report's pressure is at the hill. */
function showReduced() {
    const { reduced } = work;
    byId('pressure-reduced').textContent = weatherReport() && reduced ? `At the road’s ${shownIn(reduced.height_m, 'm')} that is ${shownIn(reduced.hpa, 'hPa', 1)}.` : '';
}

function showRider() {
    byId('rider-fields').replaceChildren(...FIRST.map(([section, name]) => (name === 'pressure_hpa' ? pressureField() : plainField(section, name, workChanged))));
    showReduced();
    byId('more-fields').replaceChildren(...MORE.map(([section, name]) => plainField(section, name,
        name === 'utc_offset' ? () => { showRuns(); workChanged(); } : workChanged)));
    const others = otherLines();
    byId('others-part').hidden = !others;
    byId('others').textContent = others;
}
