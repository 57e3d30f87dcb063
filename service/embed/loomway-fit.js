// A custom element for a product page: does this part fit the visitor's bike?
//
//   <script type="module" src="https://SERVICE/embed/loomway-fit.js"></script>
//   <loomway-fit part="tern-65" place="rear_pods"></loomway-fit>
//
// It asks the service that it came from. It needs no library, no inline style and no inline script, keeps the visitor's
// choice on the visitor's device, and takes its room before it has an answer, so that nothing moves.

const SERVICE = new URL("..", import.meta.url);
const KEPT = "loomway-bike";
const STEPS = [
  ["maker", "Maker"],
  ["family", "Family"],
  ["model_year", "Model year"],
  ["trim", "Trim"],
  ["built", "Built"],
];

const STYLE = new CSSStyleSheet();
STYLE.replaceSync(`
  :host { display: block; font: inherit; color: inherit; }
  form { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(12em, 100%), 1fr)); gap: 0.75em; margin: 0; }
  label { display: flex; flex-direction: column; gap: 0.25em; min-width: 0; }
  select { font: inherit; min-height: 2.75em; width: 100%; }
  p { margin: 0.75em 0 0; }
  #answer { min-height: 7.5em; }
`);

/** Ask the service; a problem document is told in its own words. */
async function ask(path) {
  const response = await fetch(new URL(path, SERVICE), { credentials: "omit" });
  const told = await response.json();
  if (!response.ok) throw new Error(told.title ?? "The shop cannot be asked just now");
  return told;
}

/** Give every bike of the catalog, page by page; asked once for all elements of a page. */
let asked;
function everyBike() {
  asked ??= (async () => {
    const bikes = [];
    for (let after = ""; ; ) {
      const page = await ask(`v1/bikes?limit=200${after && `&after=${encodeURIComponent(after)}`}`);
      bikes.push(...page.bikes);
      if (page.complete) return bikes;
      after = page.next;
    }
  })();
  asked.catch(() => (asked = undefined));
  return asked;
}

const field = (bike, step) => (step === "built" ? bike.side?.name ?? "" : String(bike[step]));
const words = (bike, step) => bike[`${step}_name`] ?? field(bike, step);
const list = (words) => words.join(words.length > 2 ? "; " : " and ");

/** Say an answer in plain sentences: the verdict, the reasons, and what it takes. */
function sentences(answer) {
  const extras = list(answer.extras.map((extra) => `${extra.name} (${extra.place_name})`));
  const presets = answer.presets.length ? " It is preset by the workshop." : "";
  const reasons = answer.findings.map((finding) => finding.sentence);
  switch (answer.verdict) {
    case "fits":
      return [`${answer.name} fits this bike.${presets}`];
    case "fits_with":
      return [extras ? `${answer.name} fits this bike together with ${extras}.${presets}` : `${answer.name} fits this bike.${presets}`];
    case "not_verified": {
      // A reason says what would be so if it were known, which reads as if it were; what to measure says more.
      const measure = answer.missing.filter((cause) => cause.measure).map((cause) => `To find out: ${cause.measure}.`);
      const open = measure.length || answer.ask ? measure : reasons;
      return [`Whether ${answer.name} fits this bike is not verified.`, answer.ask, ...open].filter(Boolean);
    }
    default:
      return [`${answer.name} does not fit this bike.`, ...reasons];
  }
}

class LoomwayFit extends HTMLElement {
  static observedAttributes = ["part", "place"];
  #number = 0;
  #selects = new Map();

  connectedCallback() {
    if (!this.shadowRoot) this.#build();
    this.#start();
  }

  attributeChangedCallback() {
    if (this.shadowRoot) this.#tell();
  }

  #build() {
    const root = this.attachShadow({ mode: "open" });
    root.adoptedStyleSheets = [STYLE];
    const form = document.createElement("form");
    form.setAttribute("aria-label", "Your bike");
    for (const [step, name] of STEPS) {
      const label = document.createElement("label");
      const select = document.createElement("select");
      select.disabled = true;
      select.append(new Option("choose", ""));
      select.addEventListener("change", () => this.#chosen(step));
      label.append(name, select);
      form.append(label);
      this.#selects.set(step, select);
    }
    this.answer = document.createElement("div");
    this.answer.id = "answer";
    this.answer.setAttribute("role", "status");
    root.append(form, this.answer);
  }

  async #start() {
    try {
      this.bikes = await everyBike();
      this.#fill(kept());
      this.#tell();
    } catch (error) {
      this.#say([error.message]);
    }
  }

  /** Offer at each step what the steps before leave; a single choice is made without asking. */
  #fill(wanted) {
    let left = this.bikes;
    let open = true;
    for (const [step] of STEPS) {
      const select = this.#selects.get(step);
      const offered = new Map(open ? left.map((bike) => [field(bike, step), words(bike, step)]) : []);
      const options = [...offered].map(([value, word]) => new Option(word || "all alike", value || "-"));
      select.replaceChildren(new Option("choose", ""), ...options);
      select.value = offered.has(wanted[step]) ? wanted[step] || "-" : options.length === 1 ? options[0].value : "";
      select.disabled = !open;
      if (select.value === "") open = false;
      else left = left.filter((bike) => (field(bike, step) || "-") === select.value);
    }
    this.bike = open ? left[0] : undefined;
  }

  #chosen(last) {
    const wanted = {};
    for (const [step] of STEPS) {
      wanted[step] = this.#selects.get(step).value.replace(/^-$/, "");
      if (step === last) break;
    }
    this.#fill(wanted);
    if (this.bike) keep(Object.fromEntries(STEPS.map(([step]) => [step, field(this.bike, step)])));
    this.#tell();
  }

  async #tell() {
    // An answer that comes late must not stand beside another bike.
    const number = ++this.#number;
    const part = this.getAttribute("part");
    if (!part || !this.bike) {
      this.#say(["Choose your bike to see whether this part fits it."]);
      return;
    }
    const place = this.getAttribute("place");
    const steps = [this.bike.id, part].map(encodeURIComponent).join("/");
    try {
      const told = await ask(`v1/fitment/${steps}${place ? `?place=${encodeURIComponent(place)}` : ""}`);
      if (number !== this.#number) return;
      this.#say(sentences(told.answer));
      this.dispatchEvent(new CustomEvent("loomway-answer", { detail: told, bubbles: true }));
    } catch (error) {
      if (number === this.#number) this.#say([error.message]);
    }
  }

  #say(lines) {
    this.answer.replaceChildren(
      ...lines.map((line) => {
        const paragraph = document.createElement("p");
        paragraph.textContent = line;
        return paragraph;
      }),
    );
  }
}

// A browser may refuse to keep anything; then the choice is made anew on the next page.
function kept() {
  try {
    return JSON.parse(localStorage.getItem(KEPT)) ?? {};
  } catch {
    return {};
  }
}

function keep(bike) {
  try {
    localStorage.setItem(KEPT, JSON.stringify(bike));
  } catch {
    return;
  }
}

customElements.define("loomway-fit", LoomwayFit);
