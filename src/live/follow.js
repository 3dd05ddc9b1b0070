// One draft: when a save arrives the page is loaded anew, and what was looked at (view, picked piece) is put back.
(() => {
  "use strict";
  const draft = location.pathname.slice("/draft/".length), key = "dovetell view " + draft;
  const page = window.dovetell;

  try {
    const kept = sessionStorage.getItem(key);
    if (kept && page && page.restore) page.restore(JSON.parse(kept));
  } catch { /* a view that cannot be put back is no loss */ }

  const bar = document.createElement("p");
  bar.id = "follow";
  bar.setAttribute("role", "status");
  const link = document.createElement("a");
  link.href = "/";
  link.textContent = "All drafts";
  const words = document.createElement("span");
  bar.append(link, " ", words);
  document.body.prepend(bar);
  const say = text => { words.textContent = text; };

  async function changed() {
    let state;
    try { state = await (await fetch("/state/" + draft, {cache: "no-store"})).json(); } catch { return say("The program does not answer any more."); }
    if (state.state === "gone") return say("This draft is no longer in the folder; this is its last good state.");
    if (state.state === "broken") return say("The last save cannot be read; this is the one before. " + state.line);
    if (state.state !== "ready" || state.version === shown) return;
    if (page && page.state) sessionStorage.setItem(key, JSON.stringify(page.state()));
    location.reload();
  }

  const mark = document.querySelector("meta[name='dovetell-version']");
  const shown = mark ? Number(mark.content) : -1;
  const events = new EventSource("/events");
  events.addEventListener("draft", event => { if (JSON.parse(event.data).draft === draft) changed(); });
  for (const kind of ["list", "all", "open"]) events.addEventListener(kind, changed);
  events.addEventListener("open", () => say("Follows each save."));
  events.addEventListener("error", () => say("The program does not answer any more: start it again to follow your saves."));
})();
