// The pages that are looked at: each an outing, made here, and what is special about it.
import { execFileSync } from 'node:child_process';
import { cpSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/* Names that try to become markup, to end a style or a comment, to turn the text around. What an
 * outing file refuses by itself (control characters, what is not UTF-8) is in the names of files. */
export const hostile = {
    outing: '"><script>window.pwned=1</script>]]></style><img src=x onerror="window.pwned=2">\u202Egnp',
    setups: ['</style><b>&amp;<!--', '\u{1F6B2}\u202E"onload="pwned=3"'],
    description: "'><svg onload=window.pwned=4>",
    recording: 'ride"><svg onload=window.pwned=5>\u202Exgt.tcx.gz',
};

/* Names as long as an outing file takes them, in 48 bytes for a setup and 190 for a line: one
 * without a place to break it. */
export const long = {
    outing: 'The long way round by the reservoir and back over the bridge, second day, late afternoon, '
        + 'with the wheels that were borrowed and the bars turned down',
    setups: ['W'.repeat(41), 'jacket-zip-closed-sleeves-taped-down-caps'],
    description: 'jacket with the zip closed and both sleeves taped down over the gloves',
    recording: 'x'.repeat(150) + '.tcx.gz',
};

/* The demo outing with other names. */
function renamed(fixtures, folder, names) {
    mkdirSync(folder);
    cpSync(join(fixtures, 'demo/ride.tcx.gz'), join(folder, names.recording));
    const [a, b] = names.setups;
    const path = join(folder, 'outing.ini');
    writeFileSync(path, `[outing]
name = ${names.outing}
recordings = ${names.recording}
[rider]
mass_kg = 71.5
[bike]
mass_kg = 10.2
[setup ${a}]
description = ${names.description}
[setup ${b}]
[runs]
order =
${[a, b, b, a, a, b, b, a].map((name) => `    ${name}`).join('\n')}
`);
    return path;
}

/* The demo's outing file with changes. */
function changed(fixtures, folder, change) {
    mkdirSync(folder);
    cpSync(join(fixtures, 'demo/ride.tcx.gz'), join(folder, 'ride.tcx.gz'));
    const path = join(folder, 'outing.ini');
    writeFileSync(path, change(readFileSync(join(fixtures, 'demo/outing.ini'), 'utf8')));
    return path;
}

/* The outing file's own name is bytes that no string of JavaScript holds. */
function hostilePage(coastwise, fixtures, work) {
    const outing = renamed(fixtures, join(work, 'hostile'), hostile);
    const path = join(work, 'hostile.html');
    execFileSync('sh', ['-c', `name=$(printf '%s/\\377\\303(\\033[1m\\a\\"><script>pwned=6<\\047\\342\\200\\256.ini' "$(dirname "$2")")
        mv "$2" "$name" && "$1" report "$name" -o "$3"`, 'sh', coastwise, outing, path]);
    return { name: 'hostile', path, runs: 8, answers: 1, outings: 1 };
}

export function makePages(coastwise, fixtures, work) {
    const run = (...args) => execFileSync(coastwise, args, { stdio: ['ignore', 'ignore', 'inherit'] });
    const simulate = (name, ...args) => {
        run('simulate', '-o', join(work, name), '--gzip', ...args);
        return join(work, name, 'outing.ini');
    };
    const page = (name, outings, expected) => {
        const path = join(work, `${name}.html`);
        run('report', ...outings, '-o', path);
        return { name, path, ...expected };
    };
    const demo = join(fixtures, 'demo/outing.ini');
    const setups = 'cape:0.46:0.0052:0.4,jacket:0.41:0.0052';
    const sixty = Array(15).fill('cape,jacket,jacket,cape').join();
    const three = simulate('three', '--seed', '5', '--setups', 'low:0.34,wide:0.4,basket:0.46',
        '--order', 'low,wide,basket,basket,wide,low');
    return [
        page('demo', [demo], { runs: 8, answers: 1, outings: 1, largest: 400e3 }),
        page('one-run', [changed(fixtures, join(work, 'one'), (text) =>
            text.replace(/order = .*/, 'order = cape\nskip = 2 3 4 5 6 7 8'))],
        { runs: 1, answers: 1, outings: 1 }),
        page('no-comparison', [changed(fixtures, join(work, 'none'), (text) =>
            text.replace(/order = .*/, ''))],
        { runs: 8, answers: 1, outings: 1 }),
        hostilePage(coastwise, fixtures, work),
        page('long-names', [renamed(fixtures, join(work, 'long'), long)],
            { runs: 8, answers: 1, outings: 1 }),
        page('two-outings', [demo, three], { runs: 14, answers: 10, outings: 2 }),
        page('sixty-runs', [simulate('sixty', '--seed', '3', '--setups', setups, '--order', sixty)],
            { runs: 60, answers: 1, outings: 1, largest: 3e6 }),
    ];
}
