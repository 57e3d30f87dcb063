// Plans anew as soon as a field is changed, and fetches reasons and other ways into the page. Without it, everything is a link or a button.
"use strict";

const patience = 250;
let running = null;

function progress(shown) {
  const place = document.getElementById("working");
  place.replaceChildren();
  if (shown) {
    const bar = document.createElement("progress");
    bar.setAttribute("aria-label", "working it out");
    place.append("Working it out …", bar);
  }
}

async function replan(form) {
  if (!form.reportValidity()) return;
  running?.abort();
  const stop = new AbortController();
  running = stop;
  const plan = document.getElementById("plan");
  const address = `${form.getAttribute("action")}?${new URLSearchParams(new FormData(form))}`;
  const waiting = setTimeout(() => { plan.setAttribute("aria-busy", "true"); progress(true); }, patience);
  try {
    const answer = await fetch(address, { signal: stop.signal, headers: { "Accept": "text/html" } });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = page.getElementById("plan");
    if (!fresh) { location.assign(address); return; }
    plan.replaceWith(document.adoptNode(fresh));
    history.replaceState(null, "", address);
    document.title = page.title;
    clearTimeout(waiting);
    progress(false);
    document.getElementById("working").textContent = "The plan is worked out anew.";
  } catch (fault) {
    if (fault.name === "AbortError") return;
    document.getElementById("working").textContent = "That did not work. Try the button.";
  } finally {
    clearTimeout(waiting);
    document.getElementById("plan")?.removeAttribute("aria-busy");
    if (running === stop) running = null;
  }
}

async function fill(details) {
  const place = details.querySelector("[data-from]");
  if (!place || place.dataset.filled) return;
  place.dataset.filled = "yes";
  place.textContent = "Working it out …";
  try {
    const answer = await fetch(place.dataset.from, { headers: { "Accept": "text/html" } });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    place.replaceChildren(...(page.getElementById("told")?.childNodes ?? ["That did not work."]));
  } catch {
    place.textContent = "That did not work.";
    delete place.dataset.filled;
  }
}

document.addEventListener("change", (event) => {
  const form = event.target.closest?.("form[data-replan]");
  if (form) replan(form);
});
document.addEventListener("submit", (event) => {
  if (event.target.matches?.("form[data-wait]")) progress(true);
  const form = event.target.closest?.("form[data-replan]");
  if (form && !event.submitter?.name) { event.preventDefault(); replan(form); }
});
document.addEventListener("toggle", (event) => {
  if (event.target.matches?.("details[data-ask]") && event.target.open) fill(event.target);
}, true);
