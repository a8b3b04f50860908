/* What was filled in and not sent yet, kept on this device under an id of its own. Nothing leaves the device here. */
"use strict";

const keeper = (prefix) => {
  const key = (id) => prefix + id;
  const read = (id) => JSON.parse(localStorage.getItem(key(id)) || "null");
  const write = (state) => localStorage.setItem(key(state.id), JSON.stringify(state));
  const drop = (id) => localStorage.removeItem(key(id));
  const all = () => Object.keys(localStorage).filter((name) => name.startsWith(prefix)).map((name) => JSON.parse(localStorage.getItem(name)));
  return { read, write, drop, all };
};

const Keep = keeper("observation:");
const KeptEntries = keeper("entry:");

/* What the person in front of this device has not sent yet, each with its way back. */
const showsUnfinished = (section) => {
  const typed = section.dataset.unfinished === "entry"; // of those only work that has a name, and what was sent already
  const listed = typed ? KeptEntries.all().filter((each) => each.listed || each.finishedAt) : Keep.all();
  const mine = listed.filter((each) => each.site === section.dataset.site && each.observer === section.dataset.observer);
  section.hidden = mine.length === 0;
  mine.forEach((each) => section.querySelector("ul").append(unfinishedRow(each)));
};

const unfinishedRow = (kept) => {
  const row = document.createElement("li");
  const link = Object.assign(document.createElement("a"), { className: "button is-main", href: kept.address, textContent: kept.finishedAt ? "Send it" : "Go on" });
  const says = document.createElement("div");
  says.append(Object.assign(document.createElement("h3"), { textContent: kept.who }));
  says.append(Object.assign(document.createElement("p"), { textContent: `${kept.what}, begun ${begunAt(kept)}` }));
  row.append(says, Object.assign(document.createElement("div"), { className: "do" }));
  row.lastChild.append(link);
  return row;
};

const begunAt = (kept) => new Date(kept.startedAt).toLocaleString("en-GB", { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });

document.querySelectorAll("[data-unfinished]").forEach(showsUnfinished);
