// A draft's page: when a save arrives the page is loaded anew, and what was looked at (view, picked piece) is put back.
// What is said stands in the line above the verdict, where it moves nothing; only trouble gets a bar of its own.
(() => {
  "use strict";
  const page = window.dovetell;
  const mark = document.querySelector("meta[name='dovetell-version']"), shown = mark ? Number(mark.content) : -1;
  const make = (tag, attributes, text) => {
    const element = Object.assign(document.createElement(tag), attributes);
    if (text) element.textContent = text;
    return element;
  };

  const line = document.querySelector("header .name"), words = make("span", {id: "follow", role: "status"});
  line.prepend(make("a", {href: "/"}, "All drafts"), page ? " \u00b7 " : "");
  line.append(" ", words);
  const trouble = make("p", {id: "trouble", role: "alert", hidden: true});
  document.body.prepend(trouble);
  const say = (text, isTrouble) => {
    words.textContent = isTrouble ? "" : text;
    trouble.textContent = isTrouble ? text : "";
    trouble.hidden = !isTrouble;
  };
  if (!mark) return say("\u00b7 dropped, kept in memory only", false);

  const draft = location.pathname.slice("/draft/".length), key = "dovetell view " + draft;
  let known = null;
  try {
    const kept = sessionStorage.getItem(key);
    if (kept && page) page.restore(JSON.parse(kept));
  } catch { /* a view that cannot be put back is no loss */ }

  function load() {
    if (page) sessionStorage.setItem(key, JSON.stringify(page.state()));
    location.reload();
  }
  // Work that is over soon is not worth a word.
  const inGame = () => page && page.play && page.play.underWay;
  let work = "", waiting = 0;
  function sayWork(now) {
    work = now;
    if (work && !waiting) waiting = setTimeout(() => {
      waiting = 0;
      if (work && trouble.hidden && !inGame()) say("\u00b7 " + work, false);
    }, 400);
  }
  function show(state) {
    known = state;
    sayWork(state.work);
    if (state.state === "gone") return say("This draft is no longer in the folder; this is its last good state.", true);
    if (state.state === "broken" && page)
      return say("The last save cannot be read; this is the one before. " + state.reason, true);
    if (state.version === shown) return state.busy && words.textContent ? null : say("\u00b7 follows each save", false);
    if (inGame()) return say("\u00b7 a newer save is there; it shows when the game has ended", false);
    load();
  }
  async function ask() {
    try { show(await (await fetch("/state/" + draft, {cache: "no-store"})).json()); } catch { lost(); }
  }
  const lost = () => say("The program does not answer any more: start it again to follow your saves.", true);

  if (page && page.on) page.on("played", () => { if (known) show(known); });
  const events = new EventSource("/events");
  events.addEventListener("draft", event => { if (JSON.parse(event.data).draft === draft) ask(); });
  events.addEventListener("work", event => {
    const news = JSON.parse(event.data);
    if (news.draft === draft) sayWork(decodeURIComponent(news.words));
  });
  for (const kind of ["list", "all", "open"]) events.addEventListener(kind, ask);
  events.addEventListener("error", lost);
})();
