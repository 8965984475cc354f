// The sink: what goes into the can, worked out in the page with the same lines as the server's own answer.
"use strict";
(() => {
  const all = (what, within = document) => [...within.querySelectorAll(what)];
  const one = (what, within = document) => within.querySelector(what);
  const speaker = (element) => {
    const sentences = JSON.parse(element.dataset.say);
    return (name, values = {}) => sentences[name].replace(/\{(\w+)\}/g, (whole, field) => values[field] ?? whole);
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

  const sink = one("[data-sink]");
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
    if (missing) return ["", "", [say("missing", { product: missing })]];
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
    const given = Object.entries(what.mg).map(([name, mg]) => [name, threeFigures(mg * perL)]);
    const others = given.filter(([name]) => name !== "N").map(([name, mg]) => `${mg} ${name}`).join(", ");
    lines.push(say("gives", { n: threeFigures((what.mg.N || 0) * perL), others }));
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
    if (group === "product" || event.target.name === "product") missing = "";
    if (group) one(`[name=${group}][value="${value}"]`, sink).checked = true;
    show();
  });
  sink.addEventListener("submit", (event) => event.preventDefault());
  // The address says what is asked for; a page kept on the phone was made for nothing in particular.
  let missing = "";
  const ask = (name, value) => {
    const choices = all(`[type=radio][name="${CSS.escape(name)}"]`, sink);
    const choice = choices.find((each) => each.value === value);
    if (choice) choice.checked = true;
    else if (name === "product") missing = value;
    else if (choices.length && sink.elements[`own_${name === "strength" ? "ppm" : name}`]) {
      sink.elements[`own_${name === "strength" ? "ppm" : name}`].value = value;
      choices.find((each) => each.value === "own").checked = true;
    } else if (sink.elements[name] instanceof HTMLInputElement) sink.elements[name].value = value;
  };
  for (const [name, value] of new URLSearchParams(location.search)) ask(name, value);
  if ("static" in document.body.dataset || location.search) show();
})();
