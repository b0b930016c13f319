"use strict";
// The Movement place: sliders change figure and answer at once, ranges follow; the rep plays and scrubs. And what other
// places share with it: parts that open on demand, and the question box.

(() => {
  const $ = (q, root = document) => root.querySelector(q);

  // Sliders. Middle values come first (ranges=0), ranges when the hand rests.
  let running = null;
  let rest = null;
  const swap = (text) => {
    const answer = new DOMParser().parseFromString(text, "text/html");
    const title = $("[data-part=title]", answer);
    if (!title) return;
    $("h1").textContent = title.textContent;
    document.title = title.textContent + " · Lengthwise";
    const focus = document.activeElement?.id;
    const open = [...document.querySelectorAll("#answer details")].map((d) => d.open);
    for (const part of ["posture", "answer"]) $("#" + part).replaceChildren(...$(`[data-part=${part}]`, answer).childNodes);
    document.querySelectorAll("#answer details").forEach((d, i) => { if (open[i] && !d.dataset.fetch) d.open = true; });
    if (focus) document.getElementById(focus)?.focus();
  };
  const query = (form, ranges) => {
    const data = new URLSearchParams(new FormData(form));
    data.set("ranges", ranges ? "1" : "0");
    return data;
  };
  const ask = async (form, ranges) => {
    running?.abort();
    running = new AbortController();
    $("#answer")?.classList.toggle("busy", ranges);
    try {
      const data = query(form, ranges);
      const answer = await fetch(form.dataset.live + "?" + data, { signal: running.signal });
      if (!answer.ok) return;
      swap(await answer.text());
      data.delete("ranges");
      history.replaceState(null, "", form.action + "?" + data);
    } catch (e) {
      if (e.name !== "AbortError") $("h1").textContent = "The program does not answer. Is it still running?";
      return;
    }
    $("#answer")?.classList.remove("busy");
  };
  const moved = (form) => {
    clearTimeout(rest);
    ask(form, false).then(() => { rest = setTimeout(() => ask(form, true), 180); });
  };
  const show = (input) => {
    const output = input.parentElement.querySelector("output");
    if (!output) return;
    const v = input.value * (output.dataset.factor || 1);
    output.textContent = String(Math.round(v * 100) / 100).replace("-", "−") + (output.dataset.unit ? " " + output.dataset.unit : "");
  };
  document.addEventListener("input", (e) => {
    const form = e.target.closest("form[data-live]");
    if (!form || e.target.hasAttribute("data-scrub")) return;
    if (e.target.type === "range") show(e.target);
    moved(form);
  });
  document.addEventListener("submit", (e) => {
    const form = e.target;
    if (form.matches("form[data-live]")) { e.preventDefault(); moved(form); }
    if (form.matches("form[data-into]")) {
      e.preventDefault();
      const into = document.getElementById(form.dataset.into);
      const data = new URLSearchParams(new FormData(form));
      data.set("part", "1");
      into.textContent = "Looking …";
      fetch(form.action + "?" + data).then((r) => r.text()).then((t) => {
        const page = new DOMParser().parseFromString(t, "text/html");
        into.replaceChildren(...($("main", page) || page.body).childNodes);
      }).catch(() => { into.textContent = "The program does not answer. Is it still running?"; });
    }
  });

  // Playing and scrubbing: all frames are asked for once.
  let stills = null;
  let playing = null;
  const frames = async () => {
    const box = $("[data-stills]");
    const key = location.search + ($("input[name=view]:checked")?.value || "");
    if (box.dataset.key !== key || !box.querySelector(".still")) {
      const form = $("form[data-live]");
      const answer = await fetch("/movement/rep?" + query(form, false));
      box.innerHTML = await answer.text();
      box.dataset.key = key;
    }
    stills = [...box.querySelectorAll(".still")];
    return stills;
  };
  const at = (i) => {
    stills.forEach((s, n) => { s.hidden = n !== i; });
    const scrub = $("[data-scrub]");
    if (scrub) scrub.value = i;
  };
  document.addEventListener("input", async (e) => {
    if (!e.target.hasAttribute("data-scrub")) return;
    clearInterval(playing);
    await frames();
    at(Number(e.target.value));
  });
  document.addEventListener("click", async (e) => {
    const button = e.target.closest("[data-play]");
    if (!button) return;
    await frames();
    clearInterval(playing);
    const last = stills.length - 1;
    const order = [...Array(last + 1).keys()].reverse().concat([...Array(last).keys()].map((i) => i + 1));
    // Whoever wants less motion gets the three places of the lift, one after the other.
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    const steps = calm ? [last, Math.round(last / 2), 0, last] : order;
    let n = 0;
    at(steps[0]);
    playing = setInterval(() => {
      n += 1;
      if (n >= steps.length) return clearInterval(playing);
      at(steps[n]);
    }, calm ? 900 : 70);
  });

  // Whys: fetched when opened.
  document.addEventListener("toggle", async (e) => {
    const d = e.target;
    if (!d.open || !d.dataset?.fetch) return;
    const address = d.dataset.fetch;
    delete d.dataset.fetch;
    const link = d.querySelector("a");
    try {
      const text = await (await fetch(address)).text();
      const part = document.createElement("div");
      part.innerHTML = text;
      link.replaceWith(part);
    } catch { /* the link stays */ }
  }, true);

  // The question box: suggestions while typing, arrows and Enter.
  document.addEventListener("DOMContentLoaded", () => {
    document.querySelectorAll("[data-without-script]").forEach((b) => { b.hidden = true; });
    const form = $("form[data-live]");
    if (form) rest = setTimeout(() => ask(form, true), 60);
    const box = $("#q");
    if (!box) return;
    const list = document.createElement("ul");
    list.className = "suggestions";
    list.id = "q-list";
    list.setAttribute("role", "listbox");
    list.hidden = true;
    box.parentElement.classList.add("suggest");
    box.parentElement.append(list);
    box.setAttribute("role", "combobox");
    box.setAttribute("aria-controls", "q-list");
    box.setAttribute("aria-expanded", "false");
    let chosen = -1;
    const close = () => { list.hidden = true; box.setAttribute("aria-expanded", "false"); chosen = -1; box.removeAttribute("aria-activedescendant"); };
    let asked = 0;
    box.addEventListener("input", async () => {
      const mine = ++asked;
      if (box.value.trim().length < 2) return close();
      const found = await (await fetch("/find/suggest?q=" + encodeURIComponent(box.value))).json().catch(() => []);
      if (mine !== asked) return;
      list.replaceChildren(...found.map((f, i) => {
        const li = document.createElement("li");
        li.id = "q-" + i;
        li.setAttribute("role", "option");
        li.setAttribute("aria-selected", "false");
        li.textContent = f.name + "  ";
        const kind = document.createElement("span");
        kind.className = "grey";
        kind.textContent = f.kind;
        li.append(kind);
        li.dataset.to = f.to;
        li.addEventListener("mousedown", () => { location.href = f.to; });
        return li;
      }));
      list.hidden = found.length === 0;
      box.setAttribute("aria-expanded", String(found.length > 0));
      chosen = -1;
    });
    box.addEventListener("keydown", (e) => {
      const items = [...list.children];
      if (e.key === "Escape") return close();
      if (e.key === "Enter" && chosen >= 0) { e.preventDefault(); location.href = items[chosen].dataset.to; return; }
      if (e.key !== "ArrowDown" && e.key !== "ArrowUp" || list.hidden) return;
      e.preventDefault();
      chosen = (chosen + (e.key === "ArrowDown" ? 1 : items.length - 1) + (chosen < 0 && e.key === "ArrowUp" ? 1 : 0)) % items.length;
      items.forEach((li, i) => li.setAttribute("aria-selected", String(i === chosen)));
      box.setAttribute("aria-activedescendant", items[chosen].id);
    });
    box.addEventListener("blur", () => setTimeout(close, 150));
  });
})();
