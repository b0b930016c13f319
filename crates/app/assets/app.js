"use strict";
// Small things every place shares: forms that change a part of the page in place, parts that follow later, keys.
// Without this script every form and link still works.

(() => {
  const main = () => document.getElementById("main");

  // A part of the page that is worked out later: <div data-load="/address">.
  const loadParts = () => {
    document.querySelectorAll("[data-load]").forEach(async (part) => {
      const address = part.dataset.load;
      part.removeAttribute("data-load");
      part.setAttribute("aria-busy", "true");
      const stop = new AbortController();
      const button = document.createElement("button");
      button.textContent = "Stop waiting";
      button.className = "quiet";
      button.addEventListener("click", () => stop.abort());
      part.append(button);
      try {
        const answer = await fetch(address, { signal: stop.signal });
        part.innerHTML = await answer.text();
        const finding = part.querySelector("template[data-finding]");
        if (finding) {
          document.querySelector("h1").textContent = finding.content.textContent;
          document.title = finding.content.textContent + " · Lengthwise";
        }
        const minutes = part.querySelector("template[data-minutes]");
        if (minutes) {
          minutes.content.querySelectorAll("[data-day]").forEach((m) => {
            document.querySelectorAll("[data-minutes]").forEach((to) => {
              if (to.dataset.minutes === m.dataset.day) to.textContent = m.textContent;
            });
          });
        }
      } catch (e) {
        part.innerHTML = "";
        const p = document.createElement("p");
        p.className = "note";
        p.textContent = e.name === "AbortError" ? "Not waited for. Reload the page to work it out." : "The program does not answer. Is it still running?";
        part.append(p);
      }
      part.removeAttribute("aria-busy");
      remember(part);
    });
  };

  // Which groups are open stays as it was.
  const open = new Set();
  const nameOf = (d) => (d.querySelector("summary")?.textContent || "").slice(0, 40);
  const remember = (root) => root.querySelectorAll("details").forEach((d) => { if (open.has(nameOf(d))) d.open = true; });
  document.addEventListener("toggle", (e) => {
    if (e.target.tagName === "DETAILS") (e.target.open ? open.add(nameOf(e.target)) : open.delete(nameOf(e.target)));
  }, true);

  // Forms with data-swap: the answer's main takes the place of ours; focus and scroll stay.
  let busy = null;
  const send = async (form, button) => {
    const data = new URLSearchParams(new FormData(form));
    if (button?.name) data.append(button.name, button.value);
    const saved = document.querySelector("[data-saved]");
    if (saved) saved.textContent = "Saving …";
    const before = busy;
    const work = (async () => {
      if (before) await before.catch(() => {});
      // An earlier save may have raised the version this form was drawn with.
      const now = document.querySelector("#plan input[name=version]");
      if (now && data.has("version")) data.set("version", now.value);
      return fetch(form.action, { method: "POST", body: data });
    })();
    busy = work;
    try {
      const answer = await work;
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const focus = document.activeElement?.id || document.activeElement?.closest("form")?.id;
      const field = document.activeElement?.name;
      const top = window.scrollY;
      main().replaceWith(page.getElementById("main"));
      document.title = page.title;
      if (answer.ok) history.replaceState(null, "", answer.url.replace(/#.*/, ""));
      const place = focus && document.getElementById(focus);
      (place?.tagName === "FORM" ? place.elements[field] : place)?.focus?.();
      window.scrollTo(0, top);
      begin();
    } catch {
      if (saved) saved.textContent = "Not saved: the program does not answer.";
    }
  };
  document.addEventListener("submit", (e) => {
    const form = e.target.closest("form[data-swap]");
    if (!form) return;
    e.preventDefault();
    send(form, e.submitter);
  });
  // Cells of a row save themselves when they change.
  document.addEventListener("change", (e) => {
    const form = e.target.closest("form[data-auto]");
    if (form && e.target.tagName === "INPUT") send(form, null);
  });

  // Rows are dragged onto days and rows.
  let dragged = null;
  document.addEventListener("dragstart", (e) => { dragged = e.target.closest?.("form.entry"); });
  document.addEventListener("dragover", (e) => { if (dragged && e.target.closest("[data-day]")) e.preventDefault(); });
  document.addEventListener("drop", (e) => {
    const day = e.target.closest("section[data-day]");
    if (!dragged || !day) return;
    e.preventDefault();
    const onto = e.target.closest("form.entry");
    const data = document.createElement("form");
    data.action = dragged.action;
    const put = (name, value) => {
      const i = document.createElement("input");
      i.name = name;
      i.value = value;
      data.append(i);
    };
    put("version", dragged.elements.version.value);
    put("at", dragged.dataset.at);
    put("to", day.dataset.day);
    if (onto) put("before", onto.dataset.at);
    put("do", "move");
    dragged = null;
    send(data, null);
  });

  // Ctrl-Z and Ctrl-Y outside of fields.
  document.addEventListener("keydown", (e) => {
    if (!(e.ctrlKey || e.metaKey) || /INPUT|TEXTAREA|SELECT/.test(e.target.tagName)) return;
    const button = document.querySelector(`button[data-key="${e.key.toLowerCase()}"]`);
    if (button && !button.disabled) {
      e.preventDefault();
      button.click();
    }
  });

  // Work that goes on: asked for again until it is done.
  const follow = () => {
    document.querySelectorAll("[data-poll]").forEach((part) => {
      const address = part.dataset.poll;
      part.removeAttribute("data-poll");
      const look = async () => {
        try {
          part.innerHTML = await (await fetch(address)).text();
        } catch { return; }
        const finding = part.querySelector("template[data-finding]");
        if (!finding) return void setTimeout(look, 500);
        document.querySelector("h1").textContent = finding.content.textContent;
        document.title = finding.content.textContent + " · Lengthwise";
      };
      setTimeout(look, 300);
    });
  };

  const begin = () => { loadParts(); follow(); };
  document.addEventListener("DOMContentLoaded", begin);
})();
