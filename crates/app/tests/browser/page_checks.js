// What is wrong with the page as it stands, as a list of sentences. Numbers in front name the success criterion of the
// W3C's Web Content Accessibility Guidelines 2.2 (https://www.w3.org/TR/WCAG22/); contrast is its definition of
// "contrast ratio" and "relative luminance". Runs inside the page; the arguments are the smallest text allowed, pixels,
// on the page and inside drawings.
const [smallest_px, smallest_drawn_px] = arguments;
const wrong = [];
const squeeze = (s) => (s || "").replace(/\s+/g, " ").trim();
const all = (selector, root = document) => Array.from(root.querySelectorAll(selector));
const shown = (e) => e.checkVisibility({ opacityProperty: true, visibilityProperty: true });
// Names an element for a reader of the list.
const called = (e) => {
  const id = e.id ? "#" + e.id : "";
  const kind = e.classList && e.classList.length ? "." + Array.from(e.classList).join(".") : "";
  const text = squeeze(e.textContent).slice(0, 40);
  const name = e.getAttribute("name") ? `[name=${e.getAttribute("name")}]` : "";
  return `<${e.tagName.toLowerCase()}${id}${kind}${name}>` + (text ? ` "${text}"` : "");
};
const say = (rule, e, what) => wrong.push(`${rule} ${e ? called(e) + ": " : ""}${what}`);
const texts_of = (ids) => ids.split(/\s+/).map((id) => squeeze(document.getElementById(id)?.textContent)).join(" ");
// Name as a screen reader would say it; a placeholder is no name.
const name_of = (e) => {
  const by = e.getAttribute("aria-labelledby");
  if (by) return squeeze(texts_of(by));
  if (e.getAttribute("aria-label")) return squeeze(e.getAttribute("aria-label"));
  if (e.labels && e.labels.length) return squeeze(Array.from(e.labels).map((l) => l.textContent).join(" "));
  if (e.tagName === "INPUT" && ["submit", "button", "reset"].includes(e.type)) return squeeze(e.value);
  if (["INPUT", "SELECT", "TEXTAREA"].includes(e.tagName)) return squeeze(e.title);
  const inner = all("img[alt], svg[aria-label], svg > title", e).map((i) => i.getAttribute("alt") || i.getAttribute("aria-label") || i.textContent);
  return squeeze(e.textContent) || squeeze(inner.join(" ")) || squeeze(e.title);
};

// The frame.
if (!document.documentElement.lang) say("3.1.1", null, "the page has no language");
if (!squeeze(document.title)) say("2.4.2", null, "the window has no title");
for (const [selector, what] of [["h1", "one first heading"], ["main", "one main part"]]) {
  const found = all(selector).filter(shown).length;
  if (found !== 1) say("1.3.1", null, `${found} of <${selector}>, expected ${what}`);
}
if (!document.querySelector("meta[name=viewport]")) say("1.4.10", null, "no viewport: a phone shows the page tiny");
let level = 0;
for (const h of all("h1, h2, h3, h4, h5, h6").filter(shown)) {
  const now = Number(h.tagName[1]);
  if (now > level + 1) say("1.3.1", h, `a heading of level ${now} follows level ${level}`);
  if (!squeeze(h.textContent)) say("2.4.6", h, "an empty heading");
  level = now;
}
for (const n of all("nav").filter(shown)) if (all("nav").length > 1 && !name_of_region(n)) say("2.4.1", n, "several navigations, this one has no name");
function name_of_region(e) { return e.getAttribute("aria-label") || (e.getAttribute("aria-labelledby") && texts_of(e.getAttribute("aria-labelledby"))); }

// Ids and references.
const ids = new Map();
for (const e of all("[id]")) ids.set(e.id, (ids.get(e.id) || 0) + 1);
for (const [id, count] of ids) if (count > 1) say("4.1.2", null, `the id "${id}" stands ${count} times`);
for (const attribute of ["for", "aria-labelledby", "aria-describedby", "aria-controls", "aria-owns", "aria-errormessage", "list"]) {
  for (const e of all(`[${attribute}]`)) {
    if (attribute === "for" && e.tagName === "OUTPUT") continue;
    for (const id of e.getAttribute(attribute).split(/\s+/).filter(Boolean)) if (!ids.has(id)) say("4.1.2", e, `${attribute} points to "${id}", which is not there`);
  }
}
for (const a of all("a[href^='#']")) {
  const id = decodeURIComponent(a.getAttribute("href").slice(1));
  if (id && !ids.has(id)) say("2.4.1", a, `leads to "#${id}", which is not there`);
}

// Controls.
const operable = "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex], [role=button], [role=slider], [role=tab]";
for (const e of all(operable).filter(shown)) {
  if (e.tabIndex < 0 && !e.matches("[role=tab]")) continue;
  if (!name_of(e) && !e.matches("[tabindex]:not(a, button, input, select, textarea)")) say("4.1.2", e, "has no name");
  if (Number(e.getAttribute("tabindex")) > 0) say("2.4.3", e, "jumps the order of the page with a positive tabindex");
  const box = e.getBoundingClientRect();
  // Links inside sentences are exempt, and so is a box whose label is the target.
  const in_text = e.tagName === "A" && getComputedStyle(e).display === "inline";
  const label = e.labels && e.labels[0] && e.labels[0].getBoundingClientRect();
  const target = label && label.height * label.width > box.height * box.width ? label : box;
  const off = box.right < 0 || box.bottom < 0;
  if (!in_text && !off && box.width * box.height > 0 && (target.width < 24 || target.height < 24)) say("2.5.8", e, `${Math.round(target.width)} by ${Math.round(target.height)} px to hit, expected 24 by 24`);
}
for (const e of all("[onclick], [onchange], [oninput], [style]")) if (!e.closest("svg")) say("policy", e, "inline script or style, which the page's policy forbids");
for (const e of all("[role=img], svg").filter(shown)) {
  if (e.closest("[aria-hidden=true]") || e.parentElement.closest("svg")) continue;
  const named = name_of_region(e) || e.querySelector(":scope > title");
  if (!named && !e.closest("button, a[href], summary, [role=img]")) say("1.1.1", e, "a drawing without a text of its own");
}
for (const e of all("img").filter(shown)) if (!e.hasAttribute("alt")) say("1.1.1", e, "a picture without alt");
for (const t of all("table").filter(shown)) {
  if (!t.querySelector("th")) say("1.3.1", t, "a table without header cells");
}
for (const f of all("fieldset").filter(shown)) if (!squeeze(f.querySelector("legend")?.textContent)) say("1.3.1", f, "a group of fields without a legend");

// Sideways scrolling of the page as a whole; 1 px of rounding is nothing.
const over = document.documentElement.scrollWidth - document.documentElement.clientWidth;
if (over > 1) {
  const limit = document.documentElement.clientWidth + 1;
  const inside = (e) => { for (let p = e.parentElement; p && p !== document.body; p = p.parentElement) if (["auto", "scroll", "hidden", "clip"].includes(getComputedStyle(p).overflowX)) return true; return false; };
  const widest = all("body *").filter((e) => shown(e) && e.getBoundingClientRect().right > limit && !inside(e)).slice(0, 3).map(called);
  say("1.4.10", null, `the page is ${over} px wider than the window; past the edge: ${widest.join(", ")}`);
}

// Colours and sizes of text.
const colour = (text) => {
  const n = (text.match(/rgba?\(([^)]+)\)/) || [])[1];
  if (!n) return null;
  const [r, g, b, a] = n.split(/[\s,/]+/).filter(Boolean).map(Number);
  return { r, g, b, a: a === undefined ? 1 : a };
};
const mix = (top, under) => ({ r: top.r * top.a + under.r * (1 - top.a), g: top.g * top.a + under.g * (1 - top.a), b: top.b * top.a + under.b * (1 - top.a), a: 1 });
const channel = (v) => { const c = v / 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
const luminance = (c) => 0.2126 * channel(c.r) + 0.7152 * channel(c.g) + 0.0722 * channel(c.b);
const contrast = (a, b) => { const [x, y] = [luminance(a), luminance(b)]; return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05); };
const dark = matchMedia("(prefers-color-scheme: dark)").matches;
const ground = (e) => {
  const layers = [];
  for (let p = e; p; p = p.parentElement) {
    const c = colour(getComputedStyle(p).backgroundColor);
    if (c && c.a > 0) layers.push(c);
    if (c && c.a === 1) break;
  }
  return layers.reverse().reduce((under, top) => mix(top, under), dark ? { r: 18, g: 18, b: 18, a: 1 } : { r: 255, g: 255, b: 255, a: 1 });
};
const told = new Set();
const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
for (let node = walker.nextNode(); node; node = walker.nextNode()) {
  const e = node.parentElement;
  if (!squeeze(node.textContent) || !shown(e) || e.closest("script, style, title, desc, option, datalist, .unseen, [disabled]")) continue;
  const range = document.createRange();
  range.selectNodeContents(node);
  const box = range.getBoundingClientRect();
  if (box.width < 1 || box.height < 1 || box.right < 0 || box.bottom < 0) continue;
  const style = getComputedStyle(e);
  const svg = e.closest("svg");
  const scale = svg ? Math.abs(e.getScreenCTM ? e.getScreenCTM().a : 1) : 1;
  const px = parseFloat(style.fontSize) * scale;
  const once = (rule, what) => { const key = `${rule} ${e.tagName} ${e.className.baseVal ?? e.className} ${what}`; if (!told.has(key)) { told.add(key); say(rule, e, what); } };
  const least_px = svg ? smallest_drawn_px : smallest_px;
  if (px < least_px - 0.01) once("size", `text of ${px.toFixed(1)} px, expected ${least_px} or more`);
  // Grounds inside a drawing are tested where it is drawn.
  if (svg) continue;
  const text = colour(style.color);
  if (!text) continue;
  const under = ground(e);
  const ratio = contrast(mix(text, under), under);
  const large = px >= 24 || (px >= 18.66 && Number(style.fontWeight) >= 700);
  const least = large ? 3 : 4.5;
  if (ratio < least) once("1.4.3", `contrast ${ratio.toFixed(2)}, expected ${least} (${style.color} on ${under.r.toFixed(0)} ${under.g.toFixed(0)} ${under.b.toFixed(0)})`);
}
// Edges of fields against what lies around them.
for (const e of all("input:not([type=hidden], [type=checkbox], [type=radio], [type=range]), select, textarea").filter(shown)) {
  const style = getComputedStyle(e);
  const edge = colour(style.borderTopColor);
  const around = ground(e.parentElement);
  const own = colour(style.backgroundColor);
  const ratio = Math.max(parseFloat(style.borderTopWidth) > 0 && edge ? contrast(mix(edge, around), around) : 1, own ? contrast(mix(own, around), around) : 1);
  if (ratio < 3) say("1.4.11", e, `the field's edge has contrast ${ratio.toFixed(2)}, expected 3`);
}

// Nothing is asked of another machine.
for (const entry of performance.getEntriesByType("resource")) {
  if (new URL(entry.name).origin !== location.origin && !entry.name.startsWith("data:")) wrong.push(`third party: ${entry.name} was asked for`);
}
return wrong;
