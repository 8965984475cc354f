// What a page can do beyond being read: record in place, keep a tap without a connection, find a tree, tell its age.
"use strict";
(() => {
  const body = document.body;
  const isStatic = "static" in body.dataset;
  const all = (what, within = document) => [...within.querySelectorAll(what)];
  const one = (what, within = document) => within.querySelector(what);
  const make = (tag, values = {}, ...inside) => {
    const made = Object.assign(document.createElement(tag), values);
    made.append(...inside);
    return made;
  };

  // A phone may refuse to keep anything, or have kept something strange.
  const kept = (name, store = localStorage) => {
    try { return JSON.parse(store.getItem(name)); } catch { return null; }
  };
  const keep = (name, value, store = localStorage) => {
    try { store.setItem(name, JSON.stringify(value)); } catch { /* then it is not remembered */ }
  };
  // Sentences come with the page, in its language, with {fields} to fill.
  const sentences = JSON.parse(body.dataset.say);
  const say = (name, values = {}) => sentences[name].replace(/\{(\w+)\}/g, (whole, field) => values[field] ?? whole);
  const localDay = () => new Date(Date.now() - new Date().getTimezoneOffset() * 60000).toISOString().slice(0, 10);

  // The taps: each stays on the phone until the journal has it or a hand drops it.
  const scope = new URL(".", location.href).href;
  let unkept = null; // stands in for the phone's memory where it has none
  const taps = () => unkept ?? [kept("outbox")].flat().filter((tap) => tap && tap.body);
  const queue = () => taps().filter((tap) => tap.page === scope);
  const save = (mine) => {
    const whole = [...taps().filter((tap) => tap.page !== scope), ...mine];
    if (unkept === null) keep("outbox", whole);
    if (unkept !== null || JSON.stringify(kept("outbox")) !== JSON.stringify(whole)) unkept = whole;
  };
  const change = (body, values) => save(queue().map((tap) => (tap.body === body ? { ...tap, ...values } : tap)));
  const drop = (body) => save(queue().filter((tap) => tap.body !== body));

  // Where a tap was made: its form, its button, and the answer beside it.
  const places = new Map();
  const fields = (tap) => new URLSearchParams(tap.body);
  const place = (tap) => {
    if (places.has(tap.body)) return places.get(tap.body);
    const key = fields(tap).get("key");
    const form = all("form[method=post]").find((each) => each.action === tap.action && key.startsWith(each.elements.key.value));
    if (!form) return null;
    const button = all("button", form).find((each) => !each.name || each.value === fields(tap).get("say"));
    return stand(tap, form, button);
  };
  function stand(tap, form, button) {
    const found = { form, button, answer: make("div", { className: "answer" }) };
    found.answer.setAttribute("role", "status");
    found.answer.dataset.said = button?.value || "";
    if (form.matches(".checks") && body.classList.contains("at-bench")) found.answer.dataset.bench = kept("bench", sessionStorage);
    (button && (button.closest(".buttons") || button) || form.lastElementChild).after(found.answer);
    places.set(tap.body, found);
    count(tap, form, 1);
    return found;
  }
  const quiet = (text, action) => make("button", { type: "button", className: "quiet", textContent: say(text), onclick: action });

  // What is done counts no more at the top of the page; taken back, it does again.
  const saidBy = (tap) => fields(tap.of ? { body: tap.of } : tap).get("say") || "";
  const isFeed = (words) => /^(not_)?fed=/.test(words);
  const isLook = (words) => /^(seen|put_off)=/.test(words);
  const boxOf = (name, form) => one(`[name=tree][value="${CSS.escape(name)}"]`, form);
  function count(tap, form, sign) {
    const words = saidBy(tap);
    const isBench = form.matches(".checks");
    const part = !isBench ? form.dataset.counts : isFeed(words) ? "h-feed" : isLook(words) ? "h-look" : words.startsWith("check=") && "h-water";
    const link = part && one(`.jump a[href="#${part}"] b`);
    if (!link) return;
    const names = fields(tap).getAll("tree");
    const heads = (name) => Number(boxOf(name, form)?.dataset.count || 1);
    const isDone = (name) => part === "h-water" && "counted" in (boxOf(name, form)?.dataset || {});
    const looks = names.filter((name) => !isBench || "look" in (boxOf(name, form)?.dataset || {})).length;
    const done = part === "h-look" ? looks : names.filter((name) => !isDone(name)).reduce((sum, name) => sum + heads(name), 0);
    link.textContent = Math.max(0, Number(link.textContent) - sign * done);
  }

  function tell(tap, state, inside) {
    const there = place(tap);
    if (!there) return;
    there.answer.dataset.state = state;
    there.answer.replaceChildren(...inside);
    const isOpen = state === "refused" || state === "back";
    if (there.button) there.button.setAttribute("aria-disabled", String(!isOpen && !there.form.matches(".checks")));
    there.form.toggleAttribute("data-taken", !isOpen);
    shareTold(saidBy(tap), fields(tap.of ? { body: tap.of } : tap).getAll("tree"), isOpen, there.form);
    sayFor();
  }
  // A tree stands in its can, its mix, its question and its bench: told in one place, it is not to be told in another.
  function shareTold(words, names, isOpen, form) {
    const mark = isFeed(words) ? "fed" : isLook(words) && "look";
    if (!mark) return;
    for (const box of all(`.checks [data-${mark}]`).filter((each) => names.includes(each.value))) box.toggleAttribute(`data-told-${mark}`, !isOpen);
    const others = mark === "fed" ? all("form.fed").filter((each) => one("[value^='fed=']", each)) : all("form[data-looks]");
    for (const other of others.filter((each) => each !== form)) {
      const inputs = all("[name=tree]", other);
      const shared = inputs.filter((each) => names.includes(each.value));
      for (const input of shared) input.disabled = !isOpen;
      if (!shared.length || one(".answer", other)) continue;
      const isTold = inputs.every((each) => each.disabled);
      for (const button of all("button[name=say]", other)) button.setAttribute("aria-disabled", String(isTold));
    }
  }
  const strong = (...text) => make("strong", {}, ...text);
  const tellKept = (tap, problem = "") => tell(tap, "kept", [
    make("p", {}, strong(tap.of ? `${tap.what}: ` : "", problem ? `${problem}. ${say("waits")}` : say(navigator.onLine ? "writing" : "waits"))),
    ...(problem || !navigator.onLine ? [make("p", { className: "buttons" }, quiet("drop", () => letGo(tap)))] : []),
  ]);
  const choices = (tap) => [quiet(tap.asks ? "sure" : "again", () => resend(tap)), quiet(tap.asks ? "leave" : "drop", () => letGo(tap))];
  const tellChoices = (tap, state, text) => tell(tap, state, [make("p", {}, strong(text)), make("p", { className: "buttons" }, ...choices(tap))]);
  const tellRefused = (tap) => tellChoices(tap, "refused", say("refused", { problem: tap.problem }));
  const tellAsked = (tap) => tellChoices(tap, "asked", tap.problem);
  function resend(tap) {
    drop(tap.body);
    const body = tap.asks ? `${tap.body}&sure=yes` : tap.body;
    const next = { ...tap, body, problem: "", asks: false };
    if (places.has(tap.body)) places.set(body, places.get(tap.body));
    save([...queue(), next]);
    tellKept(next);
    sayOutbox();
    flush();
  }
  function letGo(tap) {
    drop(tap.body);
    const there = places.get(tap.body);
    if (there && fields(tap).has("id")) tell(tap, "written", [make("p", {}, strong(say("stands")))]);
    else if (there) {
      tell(tap, "back", []);
      there.answer.remove();
      places.delete(tap.body);
      count(tap, there.form, -1);
    }
    sayOutbox();
  }

  function tellWritten(tap, said) {
    const there = place(tap);
    if (!there) return;
    const lines = make("div");
    if (fields(tap).has("id")) {
      tell(tap, "back", [make("p", {}, strong(said.said))]);
      if (tap.of) untick({ body: tap.of }, there.form);
      return;
    }
    const undo = make("p", { className: "buttons" }, ...("helper" in body.dataset ? [] : [quiet("undo", () => takeBack(tap, said.id, there))]));
    tell(tap, "written", [make("p", {}, strong(said.said)), lines, undo]);
    there.answer.dataset.done = "";
    setTimeout(() => {
      undo.remove();
      if (there.form.matches(".checks") && there.answer.dataset.state === "written") there.answer.remove();
    }, 60000);
    if (there.form.matches(".checks")) tickOff(tap, there.form);
    sayFor();
    fetch(`entry.json?id=${encodeURIComponent(said.id)}`).then((answer) => answer.json()).then((entry) => {
      if (!lines.isConnected) return; // taken back meanwhile
      if (entry.said) one("strong", there.answer).textContent = entry.said;
      lines.replaceChildren(
        ...(entry.changes || []).map((text) => make("p", { textContent: text })),
        ...(entry.flags || []).map((text) => make("p", {}, strong(say("care")), ` ${text}`)),
        ...(entry.do || []).map((text) => make("p", { textContent: text })),
      );
    }).catch(() => {});
  }
  function tickOff(tap, form) {
    const button = all("button[name=say]", form).find((each) => each.value === saidBy(tap));
    for (const box of fields(tap).getAll("tree").map((name) => boxOf(name, form)).filter(Boolean)) {
      box.checked = false;
      if (saidBy(tap).startsWith("check=")) box.dataset.counted = "";
      const span = one("span", box.parentElement);
      const marks = one("small", span) || span.appendChild(make("small"));
      marks.append(" ", make("span", { className: "mark", textContent: `✓ ${button ? label(button) : ""}` }));
      marks.lastChild.dataset.said = saidBy(tap);
    }
  }
  function untick(tap, form) {
    for (const box of fields(tap).getAll("tree").map((name) => boxOf(name, form)).filter(Boolean)) {
      const mark = all(".mark", box.parentElement).find((each) => each.dataset.said === saidBy(tap));
      if (mark && saidBy(tap).startsWith("check=")) delete box.dataset.counted;
      mark?.remove();
    }
    count(tap, form, -1);
    sayFor();
  }
  function takeBack(tap, id, there) {
    const values = { key: newKey(), token: fields(tap).get("token"), id };
    const undo = { page: scope, action: new URL("undo", scope).href, body: new URLSearchParams(values).toString(), what: say("undo"), of: tap.body };
    there.form.dataset.turn = Number(there.form.dataset.turn || 0) + 1;
    places.set(undo.body, there);
    save([...queue(), undo]);
    tellKept(undo);
    sayOutbox();
    flush();
  }

  // The bar above the pages: what waits, and what was refused, whichever page it was tapped on.
  const outbox = one("#outbox");
  function sayOutbox(problem = "") {
    const mine = queue();
    outbox.hidden = !mine.length;
    if (!mine.length) return;
    const wasOpen = Boolean(one("details[open]", outbox));
    const why = problem || (navigator.onLine ? say("not_yet") : say("offline"));
    const items = mine.map((tap) => make("li", {}, tap.what || "", make("small", { textContent: ` ${tap.problem || say("waits")}` }),
      make("div", { className: "buttons" }, ...choices(tap))));
    const title = make("summary", { textContent: say(mine.length === 1 ? "kept_one" : "kept", { problem: why, count: mine.length }) });
    outbox.replaceChildren(make("details", { open: wasOpen }, title, make("ul", {}, ...items)));
  }

  let isSending = false;
  async function flush() {
    if (isSending) return;
    isSending = true;
    let problem = "";
    try {
      for (let tap = queue().find((each) => !each.problem); tap; tap = queue().find((each) => !each.problem)) {
        const answer = await fetch(tap.action, {
          method: "POST",
          headers: { "Content-Type": "application/x-www-form-urlencoded", Accept: "application/json" },
          body: tap.body,
          signal: AbortSignal.timeout(15000),
        });
        const said = await answer.json().catch(() => ({ problem: say("moved") }));
        if (answer.ok && said.id) {
          drop(tap.body);
          tellWritten(tap, said);
        } else if (answer.ok && said.question) {
          change(tap.body, { problem: said.question, asks: true });
          tellAsked({ ...tap, problem: said.question, asks: true });
        } else if (answer.status >= 500 || answer.status === 404 || answer.status === 403 || answer.ok) {
          // It may still land: the disk is full, or this page's address was replaced.
          problem = said.problem || say("moved");
          tellKept(tap, problem);
          break;
        } else {
          change(tap.body, { problem: said.problem, mayPass: answer.status === 409 });
          tellRefused({ ...tap, problem: said.problem });
        }
      }
    } catch {
      problem = say("offline");
      for (const tap of queue().filter((each) => !each.problem)) tellKept(tap, problem);
    } finally {
      isSending = false;
    }
    sayOutbox(problem);
  }
  // What a broken file stood in the way of is tried again by itself; what the form had wrong is not.
  function again() {
    for (const tap of queue().filter((each) => each.mayPass)) change(tap.body, { problem: "", mayPass: false });
    return flush();
  }

  // Whom the buttons under the benches speak of: those ticked; at one bench, with none ticked, all that they fit.
  const label = (button) => button.dataset.label || button.textContent.trim();
  function chosen(button) {
    const boxes = all(".checks [data-bench]:not([hidden]) [name=tree]");
    const ticked = boxes.filter((box) => box.checked);
    const isAll = !ticked.length && body.classList.contains("at-bench");
    const those = isAll ? boxes : ticked;
    if (button.value.startsWith("fed=")) return those.filter((box) => box.matches("[data-fed]:not([data-told-fed])"));
    if (button.value === "seen=not+yet") return those.filter((box) => box.matches("[data-look]:not([data-told-look])"));
    if (!isAll) return ticked;
    if (!button.value.startsWith("check=")) return [];
    const left = boxes.filter((box) => !("counted" in box.dataset));
    return left.length ? left : boxes;
  }
  function sayFor() {
    const told = one("[data-for]");
    if (!told) return;
    const isBench = body.classList.contains("at-bench");
    const boxes = chosen(one("[value='check=moist']", told.parentElement));
    const isTicked = boxes.some((box) => box.checked);
    const isPart = boxes.length < all(".checks [data-bench]:not([hidden]) [name=tree]").length;
    told.textContent = say(isTicked ? "for_ticked" : !isBench ? "for_those" : isPart ? "for_rest" : "for_all", { count: boxes.length });
    for (const button of all("[data-also] button")) {
      const count = chosen(button).length;
      button.hidden = !one(`[data-bench]:not([hidden]) [data-${isFeed(button.value) ? "fed" : "look"}]`);
      button.textContent = `${label(button)}: ${count}`;
      button.setAttribute("aria-disabled", String(!count));
    }
    one("[data-also]").hidden = !isBench || !one("[data-also] button:not([hidden])");
  }
  const newKey = () => [...crypto.getRandomValues(new Uint8Array(9))].map((each) => each.toString(36).padStart(2, "0")).join("");
  function write(form, button) {
    const data = new FormData(form);
    if (button && button.name) data.append(button.name, button.value);
    if (form.matches(".checks")) {
      data.delete("tree");
      for (const box of chosen(button)) data.append("tree", box.value);
    }
    // A look may be made twice a day; anything else said twice by one page is the same tap come again.
    const turn = form.matches(".checks") ? newKey() : form.dataset.turn;
    if (turn) data.set("key", `${data.get("key")}-${turn}`.slice(0, 64));
    const isToday = body.dataset.today === localDay() || Date.now() - seen < 12 * 36e5;
    if (form.getAttribute("action") === "record" && !data.get("date")) data.set("date", isToday ? body.dataset.today : localDay());
    const names = data.getAll("tree");
    const what = `${names.slice(0, 3).join(", ")}${names.length > 3 ? ` +${names.length - 3}` : ""}: ${button ? label(button) : ""}`;
    const tap = { page: scope, action: form.action, body: new URLSearchParams(data).toString(), what };
    if (form.getAttribute("action") === "record" && !names.length) {
      places.get(form)?.remove();
      const answer = make("div", { className: "answer" }, make("p", {}, strong(say("none"))));
      answer.setAttribute("role", "status");
      places.set(form, answer);
      (button.closest(".buttons") || button).after(answer);
      return;
    }
    places.get(form)?.remove();
    if (queue().some((each) => each.body === tap.body)) return;
    all(".answer[data-state=back]", form).forEach((each) => each.remove());
    places.delete(tap.body);
    if (form.matches(".checks")) {
      all(".answer[data-state=written]", form).filter((each) => !each.dataset.bench || each.dataset.said === button.value).forEach((each) => each.remove());
      for (const name of names) boxOf(name, form).checked = false; // told once
    }
    stand(tap, form, button);
    save([...queue(), tap]);
    tellKept(tap);
    sayOutbox();
    flush();
  }
  for (const form of all("form[method=post]")) {
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      const button = event.submitter;
      if (!button || button.getAttribute("aria-disabled") !== "true") write(form, button);
    });
  }
  // A date that is picked is the date that is meant.
  for (const other of all("[name=other_date]")) {
    const radios = all("[name=date]", other.form);
    other.addEventListener("input", () => { radios.find((each) => each.value === "other").checked = Boolean(other.value); });
    for (const radio of radios) radio.addEventListener("change", () => { if (radio.value !== "other") other.value = ""; });
  }

  // The age of the page: kept from before, or left open; and the way to the page of now.
  let seen = body.dataset.kept ? Date.parse(body.dataset.kept) : Date.now();
  const age = one("#age");
  function tellAge(isReached) {
    const minutes = Math.floor((Date.now() - seen) / 60000);
    const [unit, size] = minutes < 120 ? ["minutes", 1] : minutes < 2880 ? ["hours", 60] : ["days", 1440];
    const parts = !isStatic && !isReached ? [say(unit, { count: Math.floor(minutes / size) })] : [];
    const today = localDay();
    const there = one(`.days a[href="day-${today}.html"]`);
    if (!location.pathname.includes("day-") && body.dataset.today !== today && there && (isStatic || parts.length)) {
      parts.push(" ", make("a", { href: there.getAttribute("href"), textContent: say("today") }));
    }
    age.replaceChildren(...parts);
    age.hidden = !parts.length;
  }
  const isBusy = () => queue().length || one("[name=tree]:checked:not([checked]), .answer [type=button]") || all(".chips [checked]").some((each) => !each.checked);
  // Looks whether the server has another plan by now; ticks and answers are never lost to it.
  async function look() {
    try {
      const answer = await fetch(location.href, { method: "HEAD", cache: "no-store", signal: AbortSignal.timeout(15000) });
      if (!answer.ok) return;
      const isOld = answer.headers.get("X-Plan") !== body.dataset.plan || body.dataset.kept;
      if (isOld && !isBusy()) { location.reload(); return; }
      seen = Date.now();
      delete body.dataset.kept;
      tellAge(true);
    } catch { tellAge(false); }
  }
  if (!isStatic) {
    sayOutbox();
    for (const tap of queue()) (tap.asks ? tellAsked : tap.problem ? tellRefused : tellKept)(tap);
    if (queue().length) again();
    addEventListener("online", again);
    addEventListener("pageshow", (event) => { if (event.persisted) look(); });
    document.addEventListener("visibilitychange", () => { if (!document.hidden) { again(); look(); } });
    setInterval(() => { if (queue().length) flush(); }, 20000);
    if (performance.getEntriesByType("navigation")[0]?.type === "back_forward") look();
  }
  tellAge(!body.dataset.kept);
  if (body.dataset.kept) look();
  const done = one(".bar[data-done]");
  if (done) {
    history.replaceState(null, "", location.pathname);
    setTimeout(() => done.remove(), 60000);
  }

  // One bench at a time: all that is to be done there, each tree once. All of it at one tap, and a tree by its name.
  const benches = one(".benches");
  const showBench = (name) => {
    for (const part of all("[data-bench], [data-thirst]")) part.hidden = Boolean(name) && (part.dataset.bench ?? part.dataset.thirst) !== name;
    body.classList.toggle("at-bench", Boolean(name));
    for (const each of all("h3.bench")) name ? each.setAttribute("aria-level", "2") : each.removeAttribute("aria-level");  // under the day itself
    for (const each of all("button", benches)) {
      each.setAttribute("aria-pressed", String(each.value === name));
      if (each.value === name) benches.scrollLeft = each.offsetLeft - benches.offsetLeft - 16;
    }
    keep("bench", name, sessionStorage);
    sayFor();
  };
  if (benches) {
    benches.hidden = false;
    for (const each of all("button", benches)) {
      each.onclick = () => {
        showBench(each.value);
        scrollTo({ top: 0, behavior: "instant" });
      };
    }
    const last = kept("bench", sessionStorage);
    showBench(all("button", benches).some((each) => each.value === last) ? last : "");
  }
  for (const each of all("[data-all]")) {
    each.hidden = false;
    each.onclick = () => {
      const boxes = all("[name=tree]", each.closest("[data-bench]"));
      const isOn = boxes.some((box) => !box.checked);
      for (const box of boxes) box.checked = isOn;
      sayFor();
    };
  }
  one(".checks")?.addEventListener("change", sayFor);
  // What is poured is ticked on this phone alone, for the day.
  const page = `${location.href.split(/[?#]/)[0]} ${body.dataset.today}`;
  const poured = new Set(kept("poured")?.page === page ? kept("poured").names : []);
  for (const box of all("[data-step]")) {
    const name = `${one("[data-step]", box.closest(".can")).dataset.step} ${box.dataset.step}`;
    box.checked = poured.has(name);
    box.onchange = () => {
      poured[box.checked ? "add" : "delete"](name);
      keep("poured", { page, names: [...poured] });
    };
  }
  const find = one(".find [name=q]");
  const plain = (text) => text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase().trim();
  if (find && one("[data-tree]")) {
    const filter = () => {
      for (const row of all("[data-tree]")) row.hidden = !plain(row.dataset.tree).includes(plain(find.value));
      for (const group of all(".groups > section")) group.hidden = !one("[data-tree]:not([hidden])", group);
    };
    const asked = new URLSearchParams(location.search).get("q");
    if (asked !== null) find.value = asked;
    find.addEventListener("input", filter);
    filter();
  } else if (find) {
    const names = new Set(all("[name=tree]").map((box) => box.value));
    find.setAttribute("list", "names");
    find.after(make("datalist", { id: "names" }, ...[...names].map((value) => make("option", { value }))));
    find.form.addEventListener("submit", (event) => {
      const box = all(".checks [name=tree]").find((each) => plain(each.value) === plain(find.value)) || all("[name=tree]").find((each) => plain(each.value) === plain(find.value));
      if (!box || box.type === "hidden") return;
      event.preventDefault();
      if (benches) showBench("");
      box.closest("details")?.setAttribute("open", "");
      box.focus({ preventScroll: true });
      box.parentElement.scrollIntoView({ block: "center" });
    });
  }

  // Files do not know where they will be found; the page does.
  if (isStatic && location.protocol.startsWith("http")) {
    for (const code of all("code[data-file]")) code.textContent = new URL(code.dataset.file, location).href;
    for (const link of all("a[data-subscribe]")) link.href = link.href.replace(/^https?:/, "webcal:");
  }

  // Without https no page is kept: that is said on one day, till it is answered.
  const overHttp = one("#plain");
  if (overHttp && !isSecureContext && [null, localDay()].includes(kept("plain"))) {
    overHttp.hidden = false;
    keep("plain", localDay());
    one("button", overHttp).onclick = () => {
      overHttp.hidden = true;
      keep("plain", "said");
    };
  }
  if ("serviceWorker" in navigator && isSecureContext) {
    navigator.serviceWorker.register("worker.js", { updateViaCache: "all" }).then(() => navigator.serviceWorker.ready).then((registration) => {
      const days = all(".days a").map((link) => link.getAttribute("href"));
      if (days.length && registration.active) registration.active.postMessage({ day: body.dataset.today, pages: days });
    }).catch(() => {});
  }
})();
