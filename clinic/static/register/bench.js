/* The bench: one step in view, a mark by one tap. The plain form on the same page does the same without this script. */
"use strict";

const bench = document.querySelector("[data-bench]");
const plainForm = document.querySelector("[data-plain]");
const token = plainForm.querySelector("[name=csrfmiddlewaretoken]").value;
const { state, steps } = Bench;
const is = (name) => bench.querySelector(`[data-is="${name}"]`);
const shown = (name, yes) => { is(name).hidden = !yes; };
const here = () => steps[Math.min(state.at, steps.length - 1)];

const shape = (name, label) => {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  const use = document.createElementNS("http://www.w3.org/2000/svg", "use");
  use.setAttribute("href", `${bench.dataset.shapes}#${name.replaceAll(" ", "-")}`);
  svg.setAttribute("class", "shape");
  if (label) { svg.setAttribute("role", "img"); svg.setAttribute("aria-label", label); } else svg.setAttribute("aria-hidden", "true");
  svg.append(use);
  return svg;
};
const element = (tag, css, ...children) => {
  const made = document.createElement(tag);
  if (css) made.className = css;
  made.append(...children);
  return made;
};
const words = (parts) => parts.map(([says, fact, missing]) => (fact ? element("span", missing ? "site-fact is-missing" : "site-fact", says) : says));
const plainWords = (parts) => parts.map(([says]) => says).join("");
const whole = (step) => (step.when.length ? `When ${plainWords(step.when)}: ${plainWords(step.do)}` : plainWords(step.do));
const css = (word) => `is-${word.replaceAll(" ", "-")}`;

/* ---------- the step in view ---------- */
const LONG = 90; // letters: more of them stand smaller, so that the step is seen whole above its marks
const drawsStep = () => {
  const step = here();
  is("procedure").textContent = `${step.procedure.title} (${step.procedure.code})`;
  is("number").textContent = step.number;
  is("of").textContent = `of ${step.of}`;
  shown("critical", step.critical);
  is("when").replaceChildren(...(step.when.length ? ["When ", ...words(step.when), ":"] : []));
  shown("when", step.when.length > 0);
  is("do").replaceChildren(...words(step.do));
  is("do").classList.toggle("is-long", plainWords([...step.when, ...step.do]).length > LONG);
  is("caution").replaceChildren(...words(step.caution));
  shown("caution-box", step.caution.length > 0);
  shown("maker", step.maker);
  is("photos").replaceChildren(...(step.photos || []).map(photo));
  shown("photos", (step.photos || []).length > 0);
  shown("missing", [...step.when, ...step.do, ...step.caution].some(([, , missing]) => missing));
  neighbour("before", steps[state.at - 1], step);
  neighbour("next", steps[state.at + 1], step);
  drawsMarks(step);
  drawsStrip(step);
};

const photo = ([address, says]) => {
  const picture = document.createElement("img");
  picture.className = "photo is-small";
  picture.src = address;
  picture.alt = says;
  return picture;
};

const neighbour = (name, step, beside) => {
  const there = step && step.procedure === beside.procedure;
  shown(name, there);
  if (!there) return;
  is(name).querySelector("b").textContent = step.number;
  is(name).querySelector("span").textContent = whole(step);
};

const drawsMarks = (step) => {
  const consequence = step.critical ? " It is critical: prompted, helped or wrong makes an assessment not met." : "";
  is("ask").textContent = `How did step ${step.number} go?${consequence}`;
  is("marks").querySelectorAll("[data-mark]").forEach((button) => {
    const mark = button.dataset.mark;
    button.classList.toggle("is-empty-place", !step.marks.includes(mark));
    button.setAttribute("aria-pressed", state.marks[step.name] === mark);
    button.setAttribute("aria-label", `${mark}: step ${Bench.numbered(step)}, ${button.querySelector("span").textContent}`);
  });
  is("last").replaceChildren(...lastMark());
  const left = Bench.unmarked().length;
  is("unmarked").textContent = left ? `${left} unmarked` : "All marked";
  bench.querySelector("[data-do=back]").disabled = state.at === 0;
};

/* Which step was marked last, and how; with the way back. */
const lastMark = () => (state.last ? [element("span", "", state.last.says), doing("untake", "Take it back")] : []);

const drawsStrip = (now) => {
  const rows = steps.filter((step) => step.procedure === now.procedure).map((step) => stripItem(step, now));
  is("strip").replaceChildren(...rows);
  const left = Bench.unmarked().length;
  is("strip").setAttribute("aria-label", `${steps.length - left} of ${steps.length} steps are marked; step ${now.number} of ${now.of} is in view`);
};

const stripItem = (step, now) => {
  const mark = state.marks[step.name];
  const critical = step.critical ? " is-critical-step" : "";
  if (step === now) {
    const item = element("li", `is-here${critical}`, element("span", "out-of-sight", "step "), String(step.number));
    item.setAttribute("aria-current", "step");
    return item;
  }
  return mark ? element("li", css(mark) + critical, shape(mark, `step ${step.number}: ${mark}`)) : element("li", `is-to-come${critical}`);
};

/* ---------- the other screens ---------- */
const drawsAll = () => {
  const left = Bench.unmarked();
  is("count").textContent = left.length ? `Not marked yet: ${left.length} of ${steps.length}.` : `All ${steps.length} are marked.`;
  is("list").replaceChildren(...steps.map(listRow));
};

const listRow = (step, index) => {
  const mark = state.marks[step.name];
  const button = element("button", mark ? css(mark) : "is-unmarked", element("span", "", Bench.numbered(step)), mark ? shape(mark) : element("span"), element("span", "", (step.critical ? "Critical. " : "") + whole(step)), element("b", "", mark || "not marked"));
  button.type = "button";
  button.addEventListener("click", () => { Bench.save({ at: index }); opens("step"); });
  return button;
};

const drawsEnd = () => {
  const left = state.stopped ? [] : Bench.unmarked();
  const says = state.stopped ? `Stopped as unsafe: ${state.stopReason}` : left.length ? `Not marked yet: ${left.length}. Mark each; “not seen” is a mark too.` : `All ${steps.length} steps are marked.`;
  const parts = [element("p", "lead", says)];
  if (left.length) parts.push(element("p", "buttons", doing("first", "To the first unmarked"), doing("rest", "The rest was not seen")));
  if (state.last) parts.push(element("p", "last-mark", ...lastMark()));
  is("open").replaceChildren(...parts);
  bench.querySelectorAll("[name=bench-word]").forEach((dot) => { dot.checked = dot.value === state.ownWord; });
};

const doing = (name, says) => {
  const button = element("button", "button", says);
  button.type = "button";
  button.dataset.do = name;
  return button;
};

const drawsPause = () => {
  const paused = Bench.isPaused();
  is("paused").textContent = paused ? "Paused. The marks are kept; the unit stays parked, with its door shut, until you go on." : "Before anybody walks away:";
  shown("park", !paused);
  bench.querySelector("[data-do=park]").hidden = paused;
  bench.querySelector("[data-do=resume]").hidden = !paused;
  bench.querySelectorAll("[data-screen=pause] [data-do=return]").forEach((button) => { button.hidden = paused; });
};

const draws = { step: drawsStep, all: drawsAll, end: drawsEnd, pause: drawsPause, note: () => {}, stop: () => {} };

const opens = (name) => {
  bench.querySelectorAll("[data-screen]").forEach((screen) => { screen.hidden = screen.dataset.screen !== name; });
  shown("dock", name === "step");
  shown("strip", name === "step");
  bench.querySelectorAll("[data-keeps]").forEach((box) => { box.value = state[box.dataset.keeps]; });
  draws[name]();
  window.scrollTo(0, 0);
  bench.querySelector(`[data-screen="${name}"] h1`).focus();
};

/* ---------- what a tap does ---------- */
const marks = (word) => {
  Bench.mark([here()], word);
  goesTo(state.at + 1);
  settles();
};

/* A tap that follows a mark at once was meant for the step before, whatever lies under the finger now: it does nothing.
   Counted from when the new step is drawn, by the time of the tap itself. "Stop: unsafe" is never kept waiting. */
const SETTLES_WITHIN = 400; // milliseconds
let settled = 0;
const settles = () => { settled = performance.now() + SETTLES_WITHIN; };
const isTooSoon = (event) => event.timeStamp < settled && !event.target.closest("[data-do=stop]");
const goesTo = (index) => {
  Bench.save({ at: Math.min(Math.max(index, 0), steps.length - 1) });
  opens(index >= steps.length ? "end" : "step");
};

const acts = {
  pause: () => opens("pause"),
  park: () => {
    const parked = document.getElementById("bench-parked");
    shown("park-error", !parked.checked);
    if (!parked.checked) return;
    parked.checked = false;
    Bench.pause();
    opens("pause");
  },
  resume: () => { Bench.resume(); opens("step"); },
  stop: () => opens("stop"),
  stopped: () => {
    shown("stop-error", !state.stopReason.trim());
    if (!state.stopReason.trim()) return;
    Bench.save({ stopped: true });
    opens("end");
  },
  unstop: () => { Bench.save({ stopped: false, finishedAt: null }); opens("step"); },
  all: () => opens("all"),
  note: () => opens("note"),
  back: () => goesTo(state.at - 1),
  end: () => opens("end"),
  return: () => opens("step"),
  first: () => goesTo(steps.indexOf(Bench.unmarked()[0])),
  rest: () => { Bench.mark(Bench.unmarked(), "not seen"); opens("end"); settles(); },
  untake: () => { Bench.takeBack(); opens("step"); settles(); },
  send: () => sends(),
};

/* ---------- sending ---------- */
const refuses = (...reasons) => {
  is("reasons").replaceChildren(...reasons.map((reason) => (typeof reason === "string" ? element("p", "", reason) : reason)));
  shown("refused", true);
  is("refused").scrollIntoView({ block: "center" });
};
const signsInAgain = () => {
  const link = element("a", "button", "Sign in again");
  link.href = Bench.data.unlock;
  refuses("The tablet locked itself meanwhile. Nothing is lost: the marks are on this tablet. Sign in again, then send.", link);
};

const sending = Sending("The marks are kept", {
  went: (to) => {
    Keep.drop(state.id);
    window.location.assign(to);
  },
  refused: (reasons, fields) => {
    if (Object.keys(fields).length) Bench.save({ finishedAt: null });
    refuses(...reasons);
  },
  locked: signsInAgain,
});

const sends = async () => {
  shown("refused", false);
  Bench.finish();
  const button = bench.querySelector("[data-do=send]");
  button.disabled = true;
  await sending(Bench.data.address, Bench.body(token));
  button.disabled = false;
  button.textContent = "Send again";
};

/* ---------- beginning ---------- */
bench.addEventListener("click", (event) => {
  if (!isTooSoon(event)) return;
  event.preventDefault();
  event.stopPropagation();
}, true);
bench.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (button?.dataset.mark) marks(button.dataset.mark);
  else if (button?.dataset.do) acts[button.dataset.do]();
});
bench.addEventListener("input", (event) => {
  if (event.target.dataset.keeps) Bench.save({ [event.target.dataset.keeps]: event.target.value });
  if (event.target.name === "bench-word") Bench.save({ ownWord: event.target.value });
});
bench.querySelectorAll("[data-says]").forEach((heading) => { heading.textContent = heading.dataset.says; heading.tabIndex = -1; });
Bench.save({});
plainForm.remove();
bench.querySelector("main").id = "main";
bench.hidden = false;
opens(Bench.isPaused() ? "pause" : state.stopped || state.finishedAt ? "end" : "step");
