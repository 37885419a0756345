/* Short ways to make parts of the page. Text is always text, never markup. */

const byId = (id) => document.getElementById(id);

/* make('button', {type: 'button', onclick: f}, 'Text', child): properties by their names in the DOM;
 * what has a dash, or is "for" or "role", is an attribute. */
function make(tag, properties = {}, ...children) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(properties)) {
        if (value === undefined || value === null) continue;
        if (/-|^for$|^role$|^scope$|^list$/.test(name)) element.setAttribute(name, value);
        else element[name] = value;
    }
    element.append(...children.filter((child) => child !== null && child !== undefined));
    return element;
}

function draw(tag, attributes, ...children) {
    const element = document.createElementNS('http://www.w3.org/2000/svg', tag);
    for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
    element.append(...children);
    return element;
}

/* A text in a place that may hold one or be hidden. */
function tell(id, text) {
    const place = byId(id);
    place.textContent = text || '';
    place.hidden = !text;
}

/* For long work on the page: waits a moment wherever more than a frame has gone by, so that the page
 * stays quick under the hand. */
function breather() {
    const frame = 12; /* ms */
    let since = performance.now();
    return async () => {
        if (performance.now() - since < frame) return;
        await new Promise((done) => setTimeout(done));
        since = performance.now();
    };
}
