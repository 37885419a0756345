// Opens the pages and looks at them. usage: node check.mjs COASTWISE FIXTURES WORK
import { readFileSync, statSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { HtmlValidate, StaticConfigLoader } from 'html-validate';
import { chromium } from 'playwright-core';
import { hostile, makePages } from './pages.mjs';

const [coastwise, fixtures, work] = process.argv.slice(2);
const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
let passed = 0, failed = 0;

function check(what, fine, detail = '') {
    if (fine) {
        passed++;
        return;
    }
    failed++;
    console.log(`not ok: ${what}${detail ? `: ${detail}` : ''}`);
}
const none = (what, faults) => check(what, !faults.length, faults.slice(0, 5).map((f) => JSON.stringify(f)).join('\n    '));

/* ---- what the page is asked, inside it ---- */

/* What stands out to the right of the page, or out of the box that it belongs to. */
function overflowing() {
    const wide = document.documentElement.clientWidth;
    const faults = [];
    if (document.documentElement.scrollWidth > wide) faults.push(['the page', document.documentElement.scrollWidth, wide]);
    const scrolls = (element) => element.closest('.scroll') && getComputedStyle(element.closest('.scroll')).overflowX === 'auto';
    for (const element of document.querySelectorAll('body *')) {
        const box = element.getBoundingClientRect();
        if (!box.width || element.closest('svg, .skip, [hidden]') || scrolls(element)) continue;
        if (box.right > wide + 1) faults.push([element.tagName, element.className, element.textContent.slice(0, 30), box.right]);
    }
    return faults;
}

/* Labels within pictures that lie on each other or reach out of the picture. */
function crowded() {
    const faults = [];
    for (const svg of document.querySelectorAll('svg')) {
        const frame = svg.getBoundingClientRect();
        const labels = [...svg.querySelectorAll('text')].filter((text) => text.textContent.trim())
            .map((text) => ({ text: text.textContent, box: text.getBoundingClientRect() }))
            .filter(({ box }) => box.width);
        for (const [i, { text, box }] of labels.entries()) {
            if (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 2 || box.bottom > frame.bottom + 2)
                faults.push(['out of the picture', svg.id, text]);
            for (const other of labels.slice(i + 1)) {
                const across = Math.min(box.right, other.box.right) - Math.max(box.left, other.box.left);
                const down = Math.min(box.bottom, other.box.bottom) - Math.max(box.top, other.box.top);
                /* A box is as high as the font; letters leave a quarter of it free. */
                if (across > 1 && down > 0.3 * Math.min(box.height, other.box.height))
                    faults.push(['on each other', svg.id, text, other.text]);
            }
        }
    }
    return faults;
}

function contents() {
    const count = (selector) => document.querySelectorAll(selector).length;
    return {
        answers: count('.answers li'),
        answer: document.querySelector('.answers li').textContent,
        answerTop: document.querySelector('.answers li').getBoundingClientRect().top + scrollY,
        pictureTop: document.querySelector('.board').getBoundingClientRect().top + scrollY,
        pictures: count('figure svg'),
        missing: [...document.querySelectorAll('.board p')].map((p) => p.textContent),
        runs: count('table[id^="table-runs"] tbody tr'),
        tables: count('table'),
        captions: count('table > caption'),
        scopes: [...document.querySelectorAll('th:not([scope])')].length,
        headings: [...document.querySelectorAll('h1, h2, h3')].map((h) => Number(h.tagName[1])),
        landmarks: ['header', 'main', 'nav', 'footer'].map((name) => count(name)),
        broken: [...document.querySelectorAll('a[href^="#"]')].map((a) => a.hash.slice(1)).filter((id) => !document.getElementById(id)),
        twice: [...document.querySelectorAll('[id]')].map((e) => e.id).filter((id, i, all) => all.indexOf(id) !== i),
        foreign: count('img, iframe, object, embed, link, video, audio, base, form, script[src], [style], [onload], [onclick], [onerror]'),
        scripts: count('script'),
        links: [...document.querySelectorAll('[href], [src]')].map((e) => e.getAttribute('href') ?? e.getAttribute('src')).filter((to) => !to.startsWith('#')),
        pwned: window.pwned,
        text: document.body.textContent,
        language: document.documentElement.lang,
    };
}

/* ---- opening ---- */

async function open(browser, page, { width, scheme, media = 'screen', script = true, height = 800 }) {
    const context = await browser.newContext({
        viewport: { width, height }, colorScheme: scheme, javaScriptEnabled: script, reducedMotion: 'reduce',
    });
    const tab = await context.newPage();
    const noise = [];
    tab.on('console', (message) => noise.push(['console', message.text()]));
    tab.on('pageerror', (error) => noise.push(['error', String(error)]));
    tab.on('dialog', (dialog) => noise.push(['dialog', dialog.message()]));
    tab.on('request', (request) => { if (request.url() !== address(page)) noise.push(['request', request.url()]); });
    tab.on('requestfinished', (request) => { if (request.url() !== address(page)) noise.push(['loaded', request.url()]); });
    await tab.emulateMedia({ media, colorScheme: scheme, reducedMotion: 'reduce' });
    await tab.goto(address(page));
    return { tab, noise, close: () => context.close() };
}

const address = (page) => 'file://' + page.path;

/* ---- the checks ---- */

async function checkLook(browser, page, look, axe) {
    const name = `${page.name}, ${look.width}, ${look.scheme}`;
    const { tab, noise, close } = await open(browser, page, look);
    none(`${name}: nothing runs over`, await tab.evaluate(overflowing));
    none(`${name}: labels keep apart`, await tab.evaluate(crowded));
    if (axe) {
        await tab.evaluate(axeSource);
        const { violations } = await tab.evaluate(() => axe.run(document, { resultTypes: ['violations'] }));
        none(`${name}: axe`, violations.filter(({ impact }) => impact === 'serious' || impact === 'critical')
            .map(({ id, nodes }) => [id, nodes.length, nodes[0].html.slice(0, 200), nodes[0].failureSummary]));
    }
    none(`${name}: silent`, noise);
    await close();
}

async function checkContents(browser, page, script) {
    const name = `${page.name}${script ? '' : ', no script'}`;
    const { tab, noise, close } = await open(browser, page, { width: 1280, scheme: 'light', script });
    const found = await tab.evaluate(contents);
    check(`${name}: answers`, found.answers === page.answers, found.answers);
    check(`${name}: the answer is on the first screen, before the pictures`,
        found.answerTop < 400 && found.answerTop < found.pictureTop, `${found.answerTop}`);
    check(`${name}: pictures`, found.pictures > 0 && found.pictures + found.missing.length >= 7, JSON.stringify([found.pictures, found.missing]));
    check(`${name}: runs`, found.runs === page.runs, found.runs);
    check(`${name}: every table has a caption and scopes`, found.tables >= 3 && found.captions === found.tables && !found.scopes);
    check(`${name}: headings in order`, found.headings[0] === 1 && found.headings.filter((level) => level === 1).length === 1
        && found.headings.every((level, i) => !i || level <= found.headings[i - 1] + 1), found.headings.join());
    check(`${name}: landmarks`, found.landmarks.join() === '1,1,1,1', found.landmarks.join());
    none(`${name}: links lead somewhere`, found.broken);
    none(`${name}: ids are unique`, found.twice);
    none(`${name}: links stay on the page`, found.links);
    check(`${name}: nothing foreign`, found.foreign === 0 && found.scripts === 1, `${found.foreign} ${found.scripts}`);
    check(`${name}: nothing ran`, found.pwned === undefined, found.pwned);
    check(`${name}: language`, /^en/.test(found.language));
    if (page.name === 'hostile')
        for (const text of [hostile.outing, ...hostile.setups, hostile.recording])
            check(`${name}: shows ${JSON.stringify(text)} as it is`, found.text.includes(text.replaceAll('\u202E', '?')));
    none(`${name}: silent`, noise);
    await close();
}

async function checkPrint(browser, page) {
    const paper = { width: 688, scheme: 'dark', media: 'print' }; /* A4 less the margins, in CSS pixels */
    const { tab, noise, close } = await open(browser, page, paper);
    none(`${page.name}, print: nothing runs over`, await tab.evaluate(overflowing));
    none(`${page.name}, print: labels keep apart`, await tab.evaluate(crowded));
    const seen = await tab.evaluate(() => ({
        paper: getComputedStyle(document.body).backgroundColor,
        ink: getComputedStyle(document.body).color,
        hidden: [...document.querySelectorAll('nav, .skip, .bar, .reading')].filter((e) => e.getBoundingClientRect().height > 0).length,
    }));
    check(`${page.name}, print: white paper, no controls`, seen.paper === 'rgb(255, 255, 255)' && seen.hidden === 0, JSON.stringify(seen));
    const pdf = await tab.pdf({ preferCSSPageSize: true });
    const pages = pdf.toString('latin1').match(/\/Type\s*\/Page\b/g)?.length ?? 0;
    check(`${page.name}, print: pages`, pages > 0 && pages < 30, pages);
    none(`${page.name}, print: silent`, noise);
    await close();
}

/* A point of each picture that no other lies close to. */
function lonelyPoints() {
    return [...document.querySelectorAll('.picture')].map((box, i) => {
        const points = [...box.querySelectorAll('[data-value]')].map((point) => {
            const { left, top, width, height } = point.getBoundingClientRect();
            return { value: point.dataset.value, run: point.closest('g.run')?.dataset.run, x: left + width / 2, y: top + height / 2, width, height };
        });
        const small = points.filter((p) => p.width < 20 && p.height < 20);
        const apart = (p) => Math.min(...points.filter((q) => q !== p).map((q) => Math.hypot(
            Math.max(0, Math.abs(p.x - q.x) - q.width / 2), Math.max(0, Math.abs(p.y - q.y) - q.height / 2))));
        const best = (small.length ? small : points).map((p) => ({ ...p, apart: apart(p) })).sort((p, q) => q.apart - p.apart)[0];
        return { picture: i, points: points.length, best };
    }).filter(({ points }) => points);
}

/* A page that still scrolls puts its readings away. */
const settled = () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 20))));

async function checkPointer(browser, page) {
    const { tab, noise, close } = await open(browser, page, { width: 1280, scheme: 'light' });
    const boxes = await tab.evaluate(() => document.querySelectorAll('.picture').length);
    let read = 0;
    for (let i = 0; i < boxes; i++) {
        await tab.locator('.picture').nth(i).scrollIntoViewIfNeeded();
        await tab.evaluate(settled);
        const place = (await tab.evaluate(lonelyPoints)).find(({ picture }) => picture === i);
        if (!place) continue;
        read++;
        await tab.mouse.move(place.best.x, place.best.y);
        check(`${page.name}: the pointer reads picture ${i}`, await tab.locator('.reading').textContent() === place.best.value,
            `${await tab.locator('.reading').textContent()} for ${place.best.value}`);
        check(`${page.name}: the reading is in sight`, await tab.evaluate(() => {
            const box = document.querySelector('.reading').getBoundingClientRect();
            return box.width > 0 && box.left >= 0 && box.top >= 0 && box.right <= innerWidth && box.bottom <= innerHeight;
        }));
        if (place.best.run)
            check(`${page.name}: its run is lit`, await tab.evaluate((run) => [...document.querySelectorAll('g.run')]
                .every((g) => g.classList.contains('chosen') === (g.dataset.run === run)), place.best.run));
        await tab.evaluate(() => scrollBy(0, 20));
        await tab.evaluate(settled);
        check(`${page.name}: the reading stays with its point`, await tab.evaluate(() => {
            const box = document.querySelector('.reading').getBoundingClientRect();
            const at = document.querySelector('.picture .read').getBoundingClientRect();
            return Math.abs(box.bottom - at.top) < 12 || Math.abs(box.top - at.bottom) < 12;
        }));
        await tab.mouse.move(2, 2);
        check(`${page.name}: the reading goes`, await tab.locator('.reading').isHidden());
    }
    check(`${page.name}: pictures have values to read`, read >= 3, read);
    none(`${page.name}: silent under the pointer`, noise);
    await close();
}

async function checkKeyboard(browser, page) {
    const { tab, noise, close } = await open(browser, page, { width: 1280, scheme: 'light' });
    const say = (what) => `${page.name}: keyboard: ${what}`;
    await tab.keyboard.press('Tab');
    check(say('the skip link comes first and is seen'), await tab.evaluate(() =>
        document.activeElement.className === 'skip' && document.activeElement.getBoundingClientRect().left >= 0));
    await tab.keyboard.press('Enter');
    check(say('it leads to the answer'), await tab.evaluate(() => document.activeElement.id === 'answer'));
    for (let i = 0; i < 60 && !(await tab.evaluate(() => document.activeElement.matches('.picture'))); i++)
        await tab.keyboard.press('Tab');
    check(say('it reaches a picture, with a visible focus'), await tab.evaluate(() =>
        document.activeElement.matches('.picture') && getComputedStyle(document.activeElement).outlineStyle !== 'none'));
    const values = await tab.evaluate(() => [...document.activeElement.querySelectorAll('[data-value]')].map((p) => p.dataset.value));
    const reading = () => tab.locator('.reading').textContent();
    await tab.keyboard.press('ArrowRight');
    check(say('an arrow reads the first value'), await reading() === values[0], await reading());
    await tab.keyboard.press('ArrowRight');
    if (values.length > 1) check(say('the next arrow reads the next'), await reading() === values[1], await reading());
    await tab.keyboard.press('End');
    check(say('End reads the last'), await reading() === values.at(-1), await reading());
    await tab.keyboard.press('Escape');
    check(say('Escape puts it away'), await tab.locator('.reading').isHidden());

    const button = tab.locator('button[data-pin]').last();
    await button.focus();
    await tab.keyboard.press('Enter');
    const run = await button.getAttribute('data-pin');
    const lit = await tab.evaluate((wanted) => {
        const groups = [...document.querySelectorAll('g.run')];
        return {
            own: groups.filter((g) => g.dataset.run === wanted).map((g) => getComputedStyle(g).opacity),
            others: groups.filter((g) => g.dataset.run !== wanted).map((g) => getComputedStyle(g).opacity),
            pressed: document.activeElement.getAttribute('aria-pressed'),
            bar: document.querySelector('.bar').textContent,
        };
    }, run);
    check(say('a run is lit in every picture that has it'), (lit.own.length > 0 || page.runs > 40) && lit.own.every((o) => o === '1')
        && lit.others.every((o) => o === '0.2'), JSON.stringify(lit).slice(0, 300));
    check(say('and that is said'), lit.pressed === 'true' && /Run \d+.* is highlighted/.test(lit.bar), lit.bar);
    await tab.keyboard.press('Escape');
    check(say('Escape shows all runs'), await tab.evaluate(() => !document.querySelector('.chosen, .lit')
        && document.querySelector('.bar').hidden));
    none(say('silent'), noise);
    await close();
}

/* Markup that slipped in: the policy keeps it from doing anything. */
async function checkPolicy(browser, page) {
    const path = join(work, 'injected.html');
    writeFileSync(path, readFileSync(page.path, 'utf8').replace('</main>', `<script>window.pwned = 1</script>
        <img src="x.png" onerror="window.pwned = 2" alt=""><p id="styled" style="color: rgb(1, 2, 3)">x</p>
        <style>#styled { background: rgb(1, 2, 3) }</style></main>`));
    const { tab, noise, close } = await open(browser, { path }, { width: 1280, scheme: 'light' });
    const seen = await tab.evaluate(() => [window.pwned, getComputedStyle(document.querySelector('#styled')).color,
        getComputedStyle(document.querySelector('#styled')).backgroundColor]);
    check('policy: what was injected does nothing', seen[0] === undefined && !seen.includes('rgb(1, 2, 3)'), seen.join());
    check('policy: the browser refused it', noise.filter(([kind]) => kind === 'console').length >= 3
        && !noise.some(([kind]) => kind === 'loaded'), JSON.stringify(noise));
    await close();
}

async function validate(pages) {
    const html = new HtmlValidate(new StaticConfigLoader({
        extends: ['html-validate:standard'],
        rules: {
            'prefer-native-element': 'off', /* a group around a picture is no fieldset */
            'no-inline-style': 'error',
            'no-trailing-whitespace': 'off',
        },
    }));
    for (const page of pages) {
        const { results } = await html.validateString(readFileSync(page.path, 'utf8'), page.name);
        none(`${page.name}: valid HTML`, results.flatMap(({ messages }) => messages)
            .map(({ ruleId, message, line, column }) => [ruleId, message, line, column]));
    }
}

async function main() {
    const began = Date.now();
    const since = (what) => console.log(`${what} (${((Date.now() - began) / 1000).toFixed(0)} s)`);
    const pages = makePages(coastwise, fixtures, work);
    since(`${pages.length} pages made`);
    for (const page of pages)
        if (page.largest) check(`${page.name}: size`, statSync(page.path).size < page.largest, statSync(page.path).size);
    await validate(pages);
    since('validated');
    const browser = await chromium.launch({
        executablePath: '/usr/bin/chromium',
        args: ['--no-sandbox', '--disable-gpu', '--disable-background-networking', '--no-first-run'],
    });
    for (const page of pages) {
        for (const width of [1280, 360])
            for (const scheme of ['light', 'dark']) await checkLook(browser, page, { width, scheme }, true);
        for (const script of [true, false]) await checkContents(browser, page, script);
        await checkPrint(browser, page);
        await checkPointer(browser, page);
        await checkKeyboard(browser, page);
        since(page.name);
    }
    await checkPolicy(browser, pages[0]);
    await browser.close();
    console.log(`${passed} passed, ${failed} failed`);
    process.exit(failed ? 1 : 0);
}

await main();
