// What a page can do beyond being read: other cans, one tap to record, keeping a tap when there is no connection.
"use strict";
(() => {
  const body = document.body;
  const made = new Date(body.dataset.made);
  const isStatic = "static" in body.dataset;
  const all = (what, within = document) => [...within.querySelectorAll(what)];
  const one = (what, within = document) => within.querySelector(what);

  // A phone may refuse to keep anything, or have kept something strange.
  const kept = (name, store = localStorage) => {
    try { return JSON.parse(store.getItem(name)); } catch { return null; }
  };
  // Sentences come with the page, in its language, with {fields} to fill.
  const speaker = (element) => {
    const sentences = JSON.parse(element.dataset.say);
    return (name, values = {}) => sentences[name].replace(/\{(\w+)\}/g, (whole, field) => values[field] ?? whole);
  };
  const say = speaker(body);

  const keep = (name, value, store = localStorage) => {
    try { store.setItem(name, JSON.stringify(value)); } catch { /* then it is not remembered */ }
  };

  // Arithmetic as the command line has it: halves up, three figures, one decimal.
  const rounded = (number, places) => {
    const factor = 10 ** places;
    return Math.floor(number * factor + 0.5 + 1e-9 * Math.max(1, number)) / factor;
  };
  // Halves to the even number, as Python writes whole numbers.
  const whole = (number) => {
    const below = Math.floor(number + 1e-9);
    const rest = number - below;
    return rest > 0.5 + 1e-9 || (rest > 0.5 - 1e-9 && below % 2) ? below + 1 : below;
  };
  const oneDecimal = (number) => rounded(number, 1).toFixed(1);
  const threeFigures = (number) => {
    if (!number) return "0";
    const places = Math.max(0, 2 - Math.floor(Math.log10(number) + 1e-12));
    return String(Number(rounded(number, places).toFixed(places)));
  };
  const amountWords = (amount, unit) => `${oneDecimal(amount)} ${unit}`;

  // The sink: the same lines as the server's own answer.
  const sink = one("[data-sink]");
  if (sink) {
    const say = speaker(sink);
    const number = (name) => Number(String(sink.elements[name].value).replace(",", "."));
    const product = () => {
      const chosen = one("[name=product]:checked", sink);
      if (chosen.dataset.product) {
        const what = JSON.parse(chosen.dataset.product);
        return { ...what, mg: Object.fromEntries(what.mg) };
      }
      const isLiquid = one("[name=form]:checked", sink).value === "liquid";
      const factors = JSON.parse(one(".label", sink).dataset.factors);
      const percents = { N: number("n"), P: number("p") * factors.P, K: number("k") * factors.K };
      const perUnit = 10 * (isLiquid ? number("density") : 1);
      const mg = Object.fromEntries(Object.entries(percents).map(([name, percent]) => [name, percent * perUnit]));
      const isWrong = [number("n"), number("p"), number("k")].some((each) => !(each >= 0)) || number("n") + number("p") + number("k") > 100;
      return { title: ["n", "p", "k"].map(number).join("-"), unit: isLiquid ? "ml" : "g", mg, isWrong };
    };
    const perLitre = (what) => {
      const strength = one("[name=strength]:checked", sink);
      if (strength.dataset.share) {
        return what.rate ? what.rate * Number(strength.dataset.share) : say("no_rate", { product: what.title, unit: what.unit });
      }
      const ppm = strength.value === "own" ? number("own_ppm") : Number(strength.value);
      if (!(ppm > 0 && ppm <= 2000)) return `${say("number", { field: say("ppm"), least: 0.01, most: 2000 })}.`;
      if (!what.mg.N) return say("no_n", { product: what.title });
      return ppm / what.mg.N;
    };
    const stockLine = (perL, litres, unit) => {
      const easy = [100, 50, 20, 10, 5, 2, 1].find((ml) => (perL * 1000) / ml >= 5 - 1e-9);
      const strong = easy ? (perL * 1000) / easy : 5;
      const ml = easy ? litres * easy : (perL * litres * 1000) / 5;
      return [threeFigures(ml), [
        say(`stock_${unit}`, { amount: oneDecimal(strong), ml: threeFigures(ml), litres: threeFigures(litres) }),
        say(`small_${unit}`, { amount: threeFigures(perL * litres) }),
      ]];
    };
    // What is too rich for trees in pots, as dose/ceilings.py finds it from the ions of dose/conductivity.py at 25 °C.
    const rich = JSON.parse(sink.dataset.rich);
    const sum = (numbers) => numbers.reduce((total, each) => total + each, 0);
    const ionicStrength = (ions) => 0.5 * sum(Object.entries(ions).map(([ion, mol]) => mol * rich.ions[ion].charge ** 2));
    const feedIons = (mg) => {
      const ions = {};
      for (const [element, ion] of Object.entries(rich.ion_of)) if (mg[element]) ions[ion] = mg[element] / rich.weights[element] / 1000;
      const open = sum(Object.entries(ions).map(([ion, mol]) => mol * rich.ions[ion].charge));
      const filler = open > 0 ? "SO4--" : "Na+";
      ions[filler] = (ions[filler] || 0) + Math.abs(open / rich.ions[filler].charge);
      return ions;
    };
    const pairedOff = (total) => {
      const cations = Object.keys(rich.pairs).filter((ion) => ion in total);
      let free = { ...total };
      if (!total["SO4--"]) return free;
      for (let round = 0, sulfate = total["SO4--"]; round < 50 && cations.length; round++) {
        const strength = ionicStrength(free);
        const root = Math.sqrt(strength);
        const bound = cations.map((ion) => {
          const squares = rich.ions[ion].charge ** 2 + rich.ions["SO4--"].charge ** 2;
          const pull = rich.pairs[ion][1] * 10 ** (-0.509 * squares * (root / (1 + root) - 0.3 * strength)) * sulfate;
          return (total[ion] * pull) / (1 + pull);
        });
        sulfate = (sulfate + Math.max(total["SO4--"] - sum(bound), 0)) / 2;
        free = { ...total, "SO4--": sulfate };
        cations.forEach((ion, at) => { free[ion] = total[ion] - bound[at]; });
      }
      return free;
    };
    const at25 = ([squared, linear, constant]) => squared * 625 + linear * 25 + constant;
    const addedEc = (mg) => {
      const free = pairedOff(feedIons(mg));
      const root = Math.sqrt(ionicStrength(free));
      const carried = ([ion, mol]) => mol * (at25(rich.ions[ion].lambda0) - (at25(rich.ions[ion].a) * root) / (1 + rich.ions[ion].b * root));
      return rounded(sum(Object.entries(free).map(carried)) * (mg.N ? 1 - rich.unsure : 1), 6);
    };
    const tooRich = (mg) => {
      const at = (share) => Object.fromEntries(Object.entries(mg).map(([element, each]) => [element, each * share]));
      const { EC: mostEc, ...most } = rich.most;
      const over = [...Object.keys(most).map((what) => [what, mg[what] || 0, most[what]]), ["EC", addedEc(mg), mostEc]]
        .filter(([, holds, limit]) => holds > limit + 1e-9)
        .sort((one, other) => one[2] / one[1] - other[2] / other[1]);
      if (!over.length) return [];
      let share = Math.min(1, ...over.filter(([what]) => what !== "EC").map(([, holds, limit]) => limit / holds));
      for (let round = 0; round < 20 && addedEc(at(share)) > mostEc; round++) share *= (mostEc / addedEc(at(share))) * (1 - 1e-6);
      const words = over.map(([what, holds, limit]) =>
        say(what === "EC" ? "over_ec" : "over", { what, holds: what === "EC" ? oneDecimal(holds) : threeFigures(holds), most: threeFigures(limit) }));
      return [say(mg.N ? "too_rich" : "too_rich_no_n", { words: words.join(", "), percent: whole(share * 100), ppm: whole(mg.N * share) })];
    };
    const answer = () => {
      const what = product();
      const can = one("[name=can]:checked", sink).value;
      const litres = can === "own" ? number("own_can") : Number(can);
      if (what.isWrong) return ["", "", [say("label_sum")]];
      if (!(litres >= 0.01 && litres <= 1000)) return ["", "", [`${say("number", { field: say("litres"), least: 0.01, most: 1000 })}.`]];
      const asked = perLitre(what);
      if (typeof asked === "string") return ["", "", [asked.slice(0, 1).toUpperCase() + asked.slice(1)]];
      if (asked > 50) return ["", "", [say("too_weak", { product: what.title })]];
      const isCut = what.most && asked > what.most + 1e-12;
      const perL = isCut ? what.most : asked;
      const amount = perL * litres;
      const lines = [];
      let head = amountWords(amount, what.unit);
      let into = say("into", { litres: threeFigures(litres) });
      const isSmall = amount > 0 && amount < 0.5 - 1e-12;
      if (isSmall) {
        const [ml, said] = stockLine(perL, litres, what.unit);
        [head, into] = [`${ml} ml`, say("of_stock", { litres: threeFigures(litres) })];
        lines.push(...said);
      }
      const each = { amount: threeFigures(perL), unit: what.unit };
      if (what.spoon && !isSmall) lines.push(say("per_l_spoons", { ...each, count: oneDecimal(amount / what.spoon), spoon: threeFigures(what.spoon) }));
      else lines.push(say("per_l", each));
      const [n, ...others] = Object.entries(what.mg).map(([name, mg]) => [name, threeFigures(mg * perL)]);
      lines.push(say("gives", { n: n[1], others: others.map(([name, mg]) => `${mg} ${name}`).join(", ") }));
      if (isCut) lines.push(say("cut", { ...each, asked: threeFigures(asked) }));
      lines.push(...tooRich(Object.fromEntries(Object.entries(what.mg).map(([name, mg]) => [name, mg * perL]))));
      if (what.mg.N * perL > 250 + 1e-9) lines.push(say("strong"));
      return [head, into, lines];
    };
    const show = () => {
      const [amount, into, lines] = answer();
      one("[data-amount]", sink).textContent = amount;
      one("[data-vessel]", sink).textContent = into;
      one("[data-lines]", sink).replaceChildren(...lines.map((line) => Object.assign(document.createElement("p"), { textContent: line })));
    };
    const picks = { n: ["product", "another label"], p: ["product", "another label"], k: ["product", "another label"], density: ["product", "another label"], form: ["product", "another label"], own_ppm: ["strength", "own"], own_can: ["can", "own"] };
    sink.addEventListener("input", (event) => {
      const [group, value] = picks[event.target.name] || [];
      if (group) one(`[name=${group}][value="${value}"]`, sink).checked = true;
      show();
    });
    sink.addEventListener("submit", (event) => event.preventDefault());
    if (isStatic || location.search) show();
  }

  // Recording: a tap is kept on the phone until the server has it. Its key makes a second arrival harmless.
  const scope = new URL(".", location.href).href;
  const taps = () => [kept("outbox")].flat().filter((tap) => tap && tap.body);
  const queue = () => taps().filter((tap) => tap.page === scope);
  const save = (mine) => keep("outbox", [...taps().filter((tap) => tap.page !== scope), ...mine]);
  const outbox = one("#outbox");
  const localDay = () => {
    const now = new Date();
    return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
  };

  function sayOutbox(problem = "") {
    const waiting = queue().length;
    outbox.hidden = !waiting && !problem;
    const why = { problem: problem || say("offline"), count: waiting };
    const text = waiting ? say(waiting === 1 ? "kept_one" : "kept", why) : problem;
    outbox.replaceChildren(Object.assign(document.createElement("p"), { textContent: text }));
  }

  let isSending = false;
  async function flush() {
    if (isSending) return null;
    isSending = true;
    let next = null;
    let problem = "";
    try {
      for (let [tap] = queue(); tap; [tap] = queue()) {
        const answer = await fetch(tap.action, {
          method: "POST",
          headers: { "Content-Type": "application/x-www-form-urlencoded", Accept: "application/json" },
          body: tap.body,
          signal: AbortSignal.timeout(15000),
        });
        const said = await answer.json().catch(() => ({ problem: say("moved") }));
        if (said.problem) problem = said.problem;
        // Kept where it may still land: the disk is full, or this page's address was replaced.
        if (answer.status >= 500 || answer.status === 404 || answer.status === 403) break;
        next = said.next;
        save(queue().filter((each) => each.body !== tap.body));
      }
    } catch {
      next = null;
    } finally {
      isSending = false;
    }
    sayOutbox(problem && say("refused", { problem }));
    return problem ? null : next;
  }

  async function send(form, button) {
    const data = new FormData(form);
    if (button && button.name) data.append(button.name, button.value);
    const isToday = body.dataset.today === localDay() || Date.now() - made < 12 * 36e5;
    if (form.getAttribute("action") === "record" && !data.get("date")) data.set("date", isToday ? body.dataset.today : localDay());
    const tap = { page: scope, action: form.action, body: new URLSearchParams(data).toString() };
    save([...queue(), tap]);
    if (!queue().some((each) => each.body === tap.body)) {
      for (const [name, value] of data) form.append(Object.assign(document.createElement("input"), { type: "hidden", name, value }));
      for (const each of all("[name]:not([type=hidden])", form)) each.disabled = true;
      form.submit();
      return;
    }
    for (const each of all("button", form)) each.setAttribute("aria-disabled", "true");
    const next = await flush();
    keep("scrolled", scrollY, sessionStorage);
    if (next) location.assign(next);
    else for (const each of all("button", form)) each.removeAttribute("aria-disabled");
  }

  for (const form of all("form[method=post]")) {
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const button = event.submitter;
      if (button && button.getAttribute("aria-disabled")) return;
      send(form, button);
    });
  }
  const again = () => flush().then((next) => next && location.assign(next));
  if (!isStatic) {
    sayOutbox();
    addEventListener("online", again);
    setInterval(() => queue().length && again(), 20000);
    if (queue().length) again();
  }
  const done = one("[data-done]");
  if (done) {
    history.replaceState(null, "", location.pathname);
    scrollTo({ top: kept("scrolled", sessionStorage) || 0, behavior: "instant" });
    setTimeout(() => done.remove(), 60000);
  }

  // A page kept from before says how old it is; a page of files points at the day it is now.
  const minutes = Math.floor((Date.now() - made) / 60000);
  const age = one("#age");
  const [unit, size] = minutes < 120 ? ["minutes", 1] : minutes < 2880 ? ["hours", 60] : ["days", 1440];
  if (!isStatic && minutes >= 2) age.textContent = say(unit, { count: Math.floor(minutes / size) });
  const today = localDay();
  const isLive = !location.pathname.includes("day-") && body.dataset.today !== today;
  const there = one(`.days a[href="day-${today}.html"]`);
  if (isLive && there && (isStatic || minutes >= 2)) {
    age.append(age.textContent ? " " : "", Object.assign(document.createElement("a"), { href: there.getAttribute("href"), textContent: say("today") }));
  }
  age.hidden = !age.textContent;

  // Files do not know where they will be found; the page does.
  if (isStatic && location.protocol.startsWith("http")) {
    for (const code of all("code[data-file]")) code.textContent = new URL(code.dataset.file, location).href;
    for (const link of all("a[data-subscribe]")) link.href = link.href.replace(/^https?:/, "webcal:");
  }

  if ("serviceWorker" in navigator && isSecureContext) {
    navigator.serviceWorker.register("worker.js").then(() => navigator.serviceWorker.ready).then((registration) => {
      const days = all(".days a").map((link) => link.getAttribute("href"));
      if (days.length && registration.active) registration.active.postMessage(days);
    }).catch(() => {});
  }
})();
