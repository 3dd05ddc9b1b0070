// The list of drafts: follows the folder, and takes drawings that are dropped on it.
(() => {
  "use strict";
  const cards = document.getElementById("cards"), news = document.getElementById("news"), pick = document.getElementById("pick");
  const say = text => { news.textContent = text; };

  // The server escapes what it sends; the parsed nodes are moved over, so no markup is built here.
  async function refresh() {
    try {
      const answer = await fetch("/cards", {cache: "no-store"});
      const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
      const focused = document.activeElement && document.activeElement.getAttribute("href");
      cards.replaceChildren(...fresh.body.childNodes);
      if (focused) for (const link of cards.querySelectorAll("a")) if (link.getAttribute("href") === focused) link.focus();
    } catch { say("The program does not answer any more: start it again to follow your saves."); }
  }

  const events = new EventSource("/events");
  for (const kind of ["list", "draft", "all"]) events.addEventListener(kind, refresh);
  events.addEventListener("open", () => { say(""); refresh(); });
  events.addEventListener("error", () => say("The program does not answer any more: start it again to follow your saves."));

  async function analyse(file) {
    say(`Looking at ${file.name} ...`);
    try {
      const answer = await fetch("/drop", {method: "POST", body: file, headers: {"X-Drawing-Name": encodeURIComponent(file.name)}});
      const text = await answer.text();
      if (answer.ok) location.assign(text); else say(text);
    } catch { say("The drawing could not be sent: it may be too large, or the program has ended."); }
  }

  const over = state => document.body.classList.toggle("over", state);
  addEventListener("dragover", event => { event.preventDefault(); over(true); });
  addEventListener("dragleave", () => over(false));
  addEventListener("drop", event => {
    event.preventDefault();
    over(false);
    if (event.dataTransfer.files.length) analyse(event.dataTransfer.files[0]);
  });
  pick.addEventListener("change", () => { if (pick.files.length) analyse(pick.files[0]); });
})();
