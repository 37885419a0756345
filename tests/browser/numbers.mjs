// Holds the numbers that the page's module gives against those of the command.
// usage: node numbers.mjs COASTWISE MODULE ENGINE... -- DIGITS INPUT... [DIGITS ...]
//   INPUT   an outing file; a recording, whose runs are found and then fitted with a rider of 75 kg on a
//           bicycle of 9 kg; or WORLD:SEED, an outing that the command makes up
//
// Both run the same source; another mathematical library moves the last digits, for which DIGITS
// significant ones must agree. What is said in words must be the same.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, dirname, join, resolve } from 'node:path';

const split = process.argv.indexOf('--');
const [coastwise, modulePath, ...scripts] = process.argv.slice(2, split);
const { Engine } = new Function(scripts.map((path) => readFileSync(path, 'utf8')).join('\n') + '\nreturn { Engine };')();
const module = new WebAssembly.Module(readFileSync(modulePath));
let digits = 0, failed = 0, passed = 0, numbers = 0, worst = { away: 0 };

/* Half a unit in the last of the digits. */
const unit = (number) => 0.5 * 10 ** (Math.floor(Math.log10(Math.abs(number))) - digits + 1);

/* The size that the digits of an object's numbers are counted from, where that is not their own: an end
 * of an interval near zero is a difference of the estimate and its width, and what a line of the budget
 * moves a result by is one of two results, of 100 % of a CdA and of a Crr of thousandths. */
function sizes(object) {
    const { value, low, high } = object;
    if ('cda_percent' in object || 'difference_percent' in object) return { cda_percent: 100, difference_percent: 100, crr: 0.001 };
    if (![value, low, high].every((number) => typeof number === 'number')) return {};
    const most = Math.max(...[value, low, high].map(Math.abs));
    return { value: most, low: most, high: most };
}

/* What of a saved outing is the same although its last digits are not: its version. */
const version = (word) => word.slice(0, word.lastIndexOf('.', word.lastIndexOf('.') - 1));

/* What the JSON of the command and of the module differ in; the files' names aside. */
function* differences(a, b, path = '', size = 0) {
    if (typeof a === 'number' && typeof b === 'number') {
        numbers++;
        const away = Math.abs(a - b) / (a ? Math.abs(a) : 1);
        if (away > worst.away) worst = { away, path, a, b };
        if (a !== b && Math.abs(a - b) > unit(Math.max(Math.abs(a), size) || 1)) yield `${path}: ${a} and ${b}`;
    } else if (path.endsWith('/saved') && a && b) {
        yield* differences(version(a), version(b), `${path}/version`);
    } else if (a && b && typeof a === 'object' && typeof b === 'object') {
        const size = sizes(a);
        for (const key of new Set([...Object.keys(a), ...Object.keys(b)])) yield* differences(a[key], b[key], `${path}/${key}`, size[key]);
    } else if (a !== b && !(typeof a === 'string' && typeof b === 'string' && basename(a) === basename(b))) {
        yield `${path}: ${JSON.stringify(a)} and ${JSON.stringify(b)}`;
    }
}

/* The command's answer, or what it refuses; --limit-mb as the module has it makes no difference here. */
function native(command, path) {
    try {
        return JSON.parse(execFileSync(coastwise, [command, '--json', path], { maxBuffer: 1 << 30, stdio: ['ignore', 'pipe', 'pipe'] }));
    } catch (error) {
        const said = error.stdout && error.stdout.toString();
        if (error.status === 1 && said) return JSON.parse(said); /* answered, and something is amiss */
        return { refused: error.stderr.toString().trim().split('\n').pop().replace(/^coastwise: (\S+: )?/, '') };
    }
}

function recordingsOf(path) {
    const text = readFileSync(path, 'utf8'), names = [];
    for (const key of ['recordings', 'air_log']) {
        const found = text.match(new RegExp(`^${key} *= *(.*(?:\\n[ \\t]+.*)*)`, 'm'));
        if (found) names.push(...found[1].replace(/;.*$/gm, '').split(',').map((name) => name.trim()));
    }
    return names;
}

function inModule(path, steps) {
    const engine = new Engine(module);
    const name = basename(path), outing = path.endsWith('.ini');
    engine.put(name, readFileSync(path));
    try {
        if (outing) for (const other of recordingsOf(path)) engine.put(other, readFileSync(join(dirname(path), other)));
        if (outing) engine.openOuting(name);
        else engine.openRecordings([name]);
        engine.find();
        return steps(engine);
    } catch (error) {
        return { refused: error.message };
    }
}

function check(path, command, steps) {
    const from = native(command, path), to = inModule(path, (engine) => JSON.parse(steps(engine)));
    const faults = [...differences(from, to)];
    if (!faults.length) {
        passed++;
        return;
    }
    failed++;
    console.log(`not ok: ${command} ${path}:\n    ${faults.slice(0, 8).join('\n    ')}${faults.length > 8 ? `\n    and ${faults.length - 8} more` : ''}`);
}

const work = mkdtempSync(join(tmpdir(), 'numbers-'));
process.on('exit', () => rmSync(work, { recursive: true }));

/* An outing file around a recording, or of an outing that is made up. */
function outingOf(input) {
    const [, world, seed] = input.match(/^([a-z-]+):(\d+)$/) || [];
    const folder = join(work, basename(input).replace(/\W/g, '-'));
    if (world) {
        execFileSync(coastwise, ['simulate', '-o', folder, '--world', world, '--seed', seed], { stdio: 'ignore' });
        return join(folder, 'outing.ini');
    }
    const path = `${folder}.ini`;
    symlinkSync(resolve(input), join(work, basename(input)));
    writeFileSync(path, `[outing]\nrecordings = ${basename(input)}\n[rider]\nmass_kg = 75\n[bike]\nmass_kg = 9\n`);
    return path;
}

for (const input of process.argv.slice(split + 1)) {
    if (/^\d+$/.test(input)) {
        digits = Number(input);
        continue;
    }
    const path = input.endsWith('.ini') ? input : outingOf(input);
    check(input.includes(':') ? path : input, 'runs', (engine) => engine.answer('runs_json'));
    check(path, 'fit', (engine) => { engine.check(false); engine.fit(); engine.average(); return engine.answer('fit_json'); });
    check(path, 'compare', (engine) => { engine.check(true); engine.fit(); engine.compare(); return engine.answer('compare_json'); });
}
console.log(`${numbers} numbers, farthest apart ${worst.away.toExponential(1)} at ${worst.path}: ${worst.a} and ${worst.b}`);
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed || !passed ? 1 : 0);
