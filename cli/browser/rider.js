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

function showRider() {
    byId('rider-fields').replaceChildren(...FIRST.map(([section, name]) => plainField(section, name, workChanged)));
    byId('more-fields').replaceChildren(...MORE.map(([section, name]) => plainField(section, name,
        name === 'utc_offset' ? () => { showRuns(); workChanged(); } : workChanged)));
    const others = otherLines();
    byId('others-part').hidden = !others;
    byId('others').textContent = others;
}
