/* The units that the person reads, chosen once and kept on the device: what the library makes is in
 * them, and so are the page's own numbers; a field that nobody gave a unit is asked for in them.
 * Until they are chosen they are those of the browser's region. */

/* Regions that measure in miles, pounds and degrees Fahrenheit (Unicode CLDR, measurementSystem "US"). */
const IMPERIAL_IN = ['US', 'LR', 'MM'];

const reads = { imperial: false, chosen: false };

/* The region that the browser is set to; '' where it names a language alone. */
function regionOf(languages) {
    try {
        return new Intl.Locale(languages[0]).region || '';
    } catch {
        return '';
    }
}

/* Of our unit: the other's name, how many of ours one of them is, and what is added. The international
 * foot, mile and pound (1959); an inch of mercury is 3.386389 kPa (NIST SP 811, appendix B.8). */
const IMPERIAL = {
    m: { unit: 'ft', times: 0.3048 }, 'km/h': { unit: 'mph', times: 1.609344 }, kg: { unit: 'lb', times: 0.45359237 },
    hPa: { unit: 'inHg', times: 33.86389, more: 2 },
};

/* A number of one of our units for the person to read, with so many decimals in ours. */
function shownIn(value, unit, decimals = 0) {
    const other = reads.imperial && IMPERIAL[unit];
    return other ? `${typeset((value / other.times).toFixed(decimals + (other.more || 0)))}\u00a0${other.unit}` : `${typeset(value.toFixed(decimals))}\u00a0${unit}`;
}

const typeset = (number) => number.replace(/^-(?=.*[1-9])/, '−').replace(/^-/, '');

/* Units that fields are asked in by themselves. */
const ASKED_IN = { metric: ['kg', '°C', 'hPa', 'km/h', 'm'], imperial: ['lb', '°F', 'inHg', 'mph', 'ft', 'psi'] };
const askedIn = (unit) => ASKED_IN[reads.imperial ? 'imperial' : 'metric'].includes(unit);

function showUnits(region) {
    for (const radio of document.querySelectorAll('[name="units"]')) radio.checked = (radio.value === 'imperial') === reads.imperial;
    byId('units-why').textContent = reads.chosen ? '' : region ? `as is usual in the region that this browser is set to (${region})` : 'as is usual in most of the world';
    byId('sea-level').textContent = reads.imperial ? '0.1\u00a0inHg for each 100\u00a0ft' : '12\u00a0hPa for each 100\u00a0m';
}

async function setUpUnits() {
    const region = regionOf(navigator.languages && navigator.languages.length ? navigator.languages : [navigator.language]);
    reads.imperial = IMPERIAL_IN.includes(region);
    try {
        const kept = await store.load('units');
        if (kept) Object.assign(reads, { imperial: kept === 'imperial', chosen: true });
    } catch {
        /* Nothing can be kept: that is said when something is to be. */
    }
    showUnits(region);
    for (const radio of document.querySelectorAll('[name="units"]'))
        radio.addEventListener('change', () => {
            Object.assign(reads, { imperial: radio.value === 'imperial', chosen: true });
            work.units.clear(); /* fields follow */
            showUnits(region);
            store.save('units', radio.value).catch(() => {});
            unitsChanged();
        });
}
