/* Reading values and highlighting a run. Without this everything is still on the page: the
 * pictures' values stand in the tables. */
'use strict';
(() => {
    /* A program that shows one answer after another in the same window says so before the next. */
    const over = new AbortController();
    const { signal } = over;
    addEventListener('coastwise-answer', () => over.abort(), { signal });

    const reading = document.createElement('div');
    reading.className = 'reading';
    reading.setAttribute('role', 'status');
    reading.hidden = true;
    const bar = document.createElement('div');
    bar.className = 'bar';
    bar.hidden = true;
    const chosenName = document.createElement('span');
    const clear = document.createElement('button');
    clear.type = 'button';
    clear.textContent = 'Show all runs';
    bar.setAttribute('role', 'region');
    bar.setAttribute('aria-label', 'Highlighted run');
    bar.append(chosenName, ' ', clear);
    document.body.append(reading, bar);

    /* ---- one run in all pictures ---- */

    let pinned = null;
    const members = (run) => document.querySelectorAll('[data-run="' + CSS.escape(run) + '"]');

    function light(run) {
        for (const old of document.querySelectorAll('.chosen')) old.classList.remove('chosen');
        document.documentElement.classList.toggle('lit', run !== null);
        if (run !== null) for (const part of members(run)) part.classList.add('chosen');
    }

    function pin(run) {
        pinned = run === pinned ? null : run;
        light(pinned);
        for (const button of document.querySelectorAll('button[data-pin]'))
            button.setAttribute('aria-pressed', String(button.dataset.pin === pinned));
        const row = pinned && document.querySelector('tr[data-run="' + CSS.escape(pinned) + '"]');
        chosenName.textContent = row ? row.dataset.name + ' is highlighted.' : '';
        bar.hidden = !row;
    }

    clear.addEventListener('click', () => pin(pinned));
    addEventListener('keydown', (event) => {
        if (event.key !== 'Escape') return;
        hide();
        if (pinned !== null) pin(pinned);
    }, { signal });

    for (const row of document.querySelectorAll('tr[data-run]')) {
        const head = row.cells[0];
        const outing = row.closest('[data-outing]');
        row.dataset.name = 'Run ' + head.textContent + (outing && outing.dataset.outing ? ' of ' + outing.dataset.outing : '');
        const button = document.createElement('button');
        button.type = 'button';
        button.dataset.pin = row.dataset.run;
        button.textContent = head.textContent;
        button.setAttribute('aria-pressed', 'false');
        button.setAttribute('aria-label', row.dataset.name + ': highlight in all pictures');
        button.addEventListener('click', () => pin(row.dataset.run));
        head.replaceChildren(button);
        row.addEventListener('pointerenter', () => { if (pinned === null) light(row.dataset.run); });
        row.addEventListener('pointerleave', () => { if (pinned === null) light(null); });
    }

    /* ---- values ---- */

    let current = null;

    function hide() {
        if (current) current.classList.remove('read');
        current = null;
        reading.hidden = true;
        if (pinned === null) light(null);
    }

    function runOf(point) {
        const group = point.closest('g.run');
        return group ? group.dataset.run : null;
    }

    function show(point) {
        if (point === current) return;
        if (current) current.classList.remove('read');
        current = point;
        point.classList.add('read');
        reading.textContent = point.dataset.value;
        reading.hidden = false;
        place(point);
        if (pinned === null) light(runOf(point));
    }

    /* Above the point, or below where there is no room; never over the edge. */
    function place(point) {
        const at = point.getBoundingClientRect(), box = reading.getBoundingClientRect();
        const width = document.documentElement.clientWidth;
        const left = Math.min(Math.max(4, at.left + at.width / 2 + 10), width - box.width - 4);
        const above = at.top - box.height - 8;
        reading.style.left = left + 'px';
        reading.style.top = (above < 4 ? at.bottom + 8 : above) + 'px';
    }

    /* Distance from a place on the screen to a point's box; 0 within it. */
    function distance(box, x, y) {
        return Math.hypot(Math.max(box.left - x, 0, x - box.right), Math.max(box.top - y, 0, y - box.bottom));
    }

    function nearest(points, x, y) {
        let best = null, least = 24;
        for (const point of points) {
            const box = point.getBoundingClientRect();
            const away = distance(box, x, y) + 0.001 * Math.hypot(box.left + box.width / 2 - x, box.top + box.height / 2 - y);
            if (away < least) {
                least = away;
                best = point;
            }
        }
        return best;
    }

    /* Left and right go along the points of a run, up and down to the next run. */
    function step(points, key) {
        if (!current || !points.includes(current)) return points[0];
        const run = runOf(current), at = points.indexOf(current);
        if (key === 'ArrowRight') return points[Math.min(at + 1, points.length - 1)];
        if (key === 'ArrowLeft') return points[Math.max(at - 1, 0)];
        const way = key === 'ArrowDown' ? 1 : -1;
        const here = current.getBoundingClientRect().left;
        let to = at;
        while (points[to] && runOf(points[to]) === run) to += way;
        if (!points[to]) return current;
        const other = runOf(points[to]);
        return points.filter((point) => runOf(point) === other)
            .reduce((a, b) => Math.abs(a.getBoundingClientRect().left - here) <= Math.abs(b.getBoundingClientRect().left - here) ? a : b);
    }

    for (const box of document.querySelectorAll('.picture')) {
        const points = [...box.querySelectorAll('[data-value]')];
        if (!points.length) continue;
        box.addEventListener('pointermove', (event) => {
            const point = nearest(points, event.clientX, event.clientY);
            if (point) show(point);
            else hide();
        });
        box.addEventListener('pointerleave', hide);
        box.addEventListener('click', (event) => {
            const point = nearest(points, event.clientX, event.clientY);
            if (point && runOf(point)) pin(runOf(point));
        });
        box.addEventListener('keydown', (event) => {
            if (event.key.startsWith('Arrow')) show(step(points, event.key));
            else if (event.key === 'Home') show(points[0]);
            else if (event.key === 'End') show(points[points.length - 1]);
            else if (event.key === 'Enter' && current && runOf(current)) pin(runOf(current));
            else return;
            event.preventDefault();
        });
        box.addEventListener('blur', hide);
    }
    addEventListener('scroll', () => { if (current) place(current); }, { passive: true, signal });
})();
