// Drawings that are dropped on any page of the server, or chosen there: sent to be analysed in memory, then shown.
(() => {
  "use strict";
  const bar = document.createElement("p");
  bar.id = "dropping";
  bar.setAttribute("role", "status");
  bar.hidden = true;
  const say = text => {
    bar.textContent = text;
    bar.hidden = !text;
    if (!bar.isConnected) document.body.append(bar);
  };
  document.body.append(bar);

  async function analyse(file) {
    say(`Looking at ${file.name} ...`);
    try {
      const answer =
        await fetch("/drop", {method: "POST", body: file, headers: {"X-Drawing-Name": encodeURIComponent(file.name)}});
      const text = await answer.text();
      if (answer.ok) location.assign(text); else say(text);
    } catch { say("The drawing could not be sent: it may be too large, or the program has ended."); }
  }

  const over = state => document.documentElement.classList.toggle("over", state);
  const holdsFile = event => event.dataTransfer && Array.from(event.dataTransfer.types).includes("Files");
  addEventListener("dragover", event => {
    if (!holdsFile(event)) return;
    event.preventDefault();
    over(true);
  });
  addEventListener("dragleave", event => { if (!event.relatedTarget) over(false); });
  addEventListener("drop", event => {
    if (!holdsFile(event)) return;
    event.preventDefault();
    over(false);
    if (event.dataTransfer.files.length) analyse(event.dataTransfer.files[0]);
  });
  const pick = document.getElementById("pick");
  if (pick) pick.addEventListener("change", () => { if (pick.files.length) analyse(pick.files[0]); });
})();
