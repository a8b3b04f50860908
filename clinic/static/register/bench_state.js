/* The state of one observation: what was tapped so far. Written to the device after every change. */
"use strict";

const Bench = (() => {
  const data = JSON.parse(document.getElementById("observation").textContent);
  const fresh = () => ({
    id: data.id, site: data.site, observer: data.observer, address: data.address, who: data.who, startedAt: data.startedAt,
    what: data.procedures.map((each) => each.title).join(", "), ahead: Date.now() - Date.parse(data.now),
    at: 0, marks: {}, last: null, notes: "", stopped: false, stopReason: "", ownWord: "", ownWords: "", pauses: [], finishedAt: null,
  });
  const state = Keep.read(data.id) || fresh();
  const steps = data.procedures.flatMap((each) => each.steps.map((step) => ({ ...step, procedure: each, of: each.steps.length })));
  const save = (changes) => { Object.assign(state, changes); Keep.write(state); };

  /* The register's time, by this device's clock: a tablet that runs ahead must not end an observation in the future. */
  const now = () => new Date(Date.now() - state.ahead).toISOString();
  const unmarked = () => steps.filter((step) => !state.marks[step.name]);
  const isPaused = () => state.pauses.some((each) => !each.to);
  /* What was marked last is kept with what stood before it, so that it can be taken back, after a reload too. */
  const mark = (marked, word) => {
    const last = { marks: state.marks, at: state.at, says: said(marked, word) };
    save({ last, marks: { ...state.marks, ...Object.fromEntries(marked.map((step) => [step.name, word])) }, finishedAt: null });
  };
  const said = (marked, word) => (marked.length === 1 ? `Step ${numbered(marked[0])}: ${word}.` : `${marked.length} steps: ${word}.`);
  const numbered = (step) => (steps[0].procedure === steps.at(-1).procedure ? String(step.number) : `${step.number} of ${step.procedure.code}`);
  const takeBack = () => save({ marks: state.last.marks, at: state.last.at, last: null, finishedAt: null });
  const pause = () => save({ pauses: [...state.pauses, { from: now(), to: "", why: "unit parked, door shut" }] });
  const resume = () => save({ pauses: state.pauses.map((each) => (each.to ? each : { ...each, to: now() })) });

  /* The same every time it is sent, so that sending twice is one observation. */
  const finish = () => { if (!state.finishedAt) save({ finishedAt: now() }); };
  const body = (token) => {
    const form = new FormData();
    form.set("csrfmiddlewaretoken", token);
    Object.entries(state.marks).forEach(([name, word]) => form.set(name, word));
    if (state.stopped) form.set("stopped", "on");
    form.set("stop_reason", state.stopped ? state.stopReason : "");
    form.set("notes", state.notes);
    form.set("own_word", state.ownWord);
    form.set("own_words", state.ownWords);
    form.set("pauses", JSON.stringify(state.pauses.filter((each) => each.to)));
    form.set("finished_at", state.finishedAt);
    return form;
  };
  return { data, state, steps, save, unmarked, isPaused, mark, numbered, takeBack, pause, resume, finish, body };
})();
