// The list of drafts: follows the folder.
(() => {
  "use strict";
  const cards = document.getElementById("cards"), news = document.getElementById("news");
  const LOST = "The program does not answer any more: start it again to follow your saves.";
  let asked = 0;

  // The server escapes what it sends; the parsed nodes are moved over, so no markup is built here.
  async function refresh() {
    const turn = ++asked;
    try {
      const text = await (await fetch("/cards", {cache: "no-store"})).text();
      if (turn !== asked) return; // a later answer is under way
      const fresh = new DOMParser().parseFromString(text, "text/html");
      const focused = document.activeElement && document.activeElement.getAttribute("href");
      cards.replaceChildren(...fresh.body.childNodes);
      if (focused)
        for (const link of cards.querySelectorAll("a"))
          if (link.getAttribute("href") === focused) link.focus({preventScroll: true});
    } catch { news.textContent = LOST; }
  }

  /* What is being done with a draft, over its picture: shown after half a second (live.css), so that short work does
   * not flicker. */
  function work(event) {
    const news = JSON.parse(event.data);
    for (const link of cards.querySelectorAll("a"))
      if (link.getAttribute("href") === "/draft/" + news.draft)
        link.querySelector(".work").textContent = decodeURIComponent(news.words);
  }

  const events = new EventSource("/events");
  events.addEventListener("work", work);
  for (const kind of ["list", "draft", "all"]) events.addEventListener(kind, refresh);
  events.addEventListener("open", () => { news.textContent = ""; refresh(); });
  events.addEventListener("error", () => { news.textContent = LOST; });
})();
