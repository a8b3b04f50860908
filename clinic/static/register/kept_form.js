/* A form at the machine: what is typed stays on this device until the register has it. Without it the form sends itself. */
"use strict";

const typed = document.querySelector("[data-keeps-entry], [data-keeps-next] ~ form");
const known = JSON.parse(document.getElementById("entry").textContent);
known.what ||= document.title.split(" · ")[0];
known.who ||= document.querySelector(".strip small")?.textContent || "";
const notice = document.querySelector("[data-kept]");
const button = typed.querySelector("button:not([data-plain])");
const SKIPPED = ["csrfmiddlewaretoken", "submission", "photo"];
const SECRET = (field) => field.type === "password"; // never on the device
const SIDE = 1600; // pixels; the register keeps no more, and a device keeps little

/* One submission for this page and person. Its id is made with the page, kept, and sent every time: twice is one fact. */
const number = typed.elements.submission; // a form that enters a row by its code has none, and needs none to be one row
const earlier = KeptEntries.all().find((each) => each.address === known.address && each.observer === known.observer);
const entry = earlier || { ...known, id: number ? number.value : `${known.address} ${Date.now()}`, startedAt: new Date().toISOString(), finishedAt: null, values: {}, photo: "" };
if (number) number.value = entry.id;

const ticks = (field) => field.type === "radio" || field.type === "checkbox";
const fields = () => [...typed.elements].filter((field) => field.name && field.type !== "submit" && !SECRET(field) && !SKIPPED.includes(field.name) && (!ticks(field) || field.checked));

const keeps = (changes = {}) => {
  const values = {};
  fields().forEach((field) => (values[field.name] ||= []).push(field.value));
  Object.assign(entry, changes, { values });
  try {
    KeptEntries.write(entry);
  } catch { // the device is full: the words matter more than the picture
    KeptEntries.write({ ...entry, photo: "" });
    tells(["The photo does not fit on this tablet. It is sent with the entry, but not kept here."]);
  }
};

/* What was typed or refused is seen, also where its part of the page is folded. */
const unfoldsAround = (field) => {
  for (let fold = field?.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.setAttribute("open", "");
};

const restores = () => {
  const seen = {};
  [...typed.elements].filter((field) => field.name in entry.values || ticks(field)).forEach((field) => {
    const kept = entry.values[field.name] || [];
    const value = ticks(field) ? "" : kept[seen[field.name] = (seen[field.name] ?? -1) + 1] ?? "";
    if (!ticks(field) && field.value !== value) unfoldsAround(field);
    if (ticks(field)) field.checked = kept.includes(field.value);
    else field.value = value;
    if (!ticks(field) || field.checked) field.dispatchEvent(new Event("input", { bubbles: true }));
  });
  notice.querySelector("[data-since]").textContent = begunAt(entry);
  notice.querySelector("[data-photo]").hidden = !entry.photo;
  notice.hidden = false;
};

/* ---------- the photo ---------- */
const shrinks = async (file) => {
  const picture = await createImageBitmap(file);
  const share = Math.min(1, SIDE / Math.max(picture.width, picture.height));
  const canvas = Object.assign(document.createElement("canvas"), { width: Math.round(picture.width * share), height: Math.round(picture.height * share) });
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  return canvas.toDataURL("image/jpeg", 0.8);
};

const asFile = (data) => new Blob([Uint8Array.from(atob(data.split(",")[1]), (letter) => letter.charCodeAt(0))], { type: "image/jpeg" });

const takesPhoto = async (file) => {
  try {
    keeps({ photo: file ? await shrinks(file) : "" });
  } catch { // no picture of a kind that this browser knows: the register looks at it and says so
    keeps({ photo: "" });
  }
};

/* ---------- sending ---------- */
const place = Object.assign(document.createElement("div"), { hidden: true });
const message = Object.assign(document.createElement("div"), { className: "refusal", tabIndex: -1 });
message.setAttribute("role", "alert");
place.append(message);
typed.prepend(place);

const tells = (says, ...more) => {
  const lines = document.createElement("div");
  lines.append(...says.map((words, at) => Object.assign(document.createElement(at ? "p" : "b"), { textContent: words })), ...more);
  message.replaceChildren(lines);
  place.hidden = false;
  message.focus();
};

const marks = (wrong) => {
  typed.querySelectorAll("[data-refused]").forEach((each) => each.remove());
  Object.entries(wrong).forEach(([name, words]) => {
    const box = document.getElementById(`div_id_${name}`);
    unfoldsAround(box);
    box?.append(Object.assign(document.createElement("p"), { className: "error", textContent: words.join(" ") }));
    box?.lastChild.setAttribute("data-refused", "");
  });
};

let plainly = false, pressed = null;
const sending = Sending("What you typed is kept", {
  went: (to) => {
    KeptEntries.drop(entry.id);
    window.location.assign(to);
  },
  refused: (reasons, wrong) => {
    if (Object.keys(wrong).length) keeps({ finishedAt: null });
    marks(wrong);
    tells(reasons);
  },
  shows: () => { // the page with its refusals, as the register draws it
    plainly = true;
    typed.requestSubmit(pressed);
  },
  locked: () => tells(
    ["The tablet locked itself meanwhile. Nothing is lost: what you typed is on this tablet. Sign in again, then send."],
    Object.assign(document.createElement("a"), { className: "button", href: known.unlock, textContent: "Sign in again" }),
  ),
});

const sends = async () => {
  place.hidden = true;
  keeps({ finishedAt: entry.finishedAt || new Date().toISOString() });
  const body = new FormData(typed, pressed);
  if (entry.photo) body.set("photo", asFile(entry.photo), "photo.jpg");
  button.disabled = true;
  await sending(known.address, body);
  button.disabled = false;
};

/* ---------- beginning ---------- */
if (earlier && !known.answered) restores(); // a page that answers shows what it was sent
typed.addEventListener("input", (event) => (event.target.name === "photo" ? takesPhoto(event.target.files[0]) : keeps()));
typed.addEventListener("submit", (event) => {
  if (event.submitter?.dataset.plain !== undefined) return; // it asks the register for a page, and records nothing
  if (plainly) return;
  event.preventDefault();
  event.stopPropagation();
  pressed = event.submitter;
  sends();
});
notice.querySelector("[data-drops]").addEventListener("click", () => {
  KeptEntries.drop(entry.id);
  window.location.reload();
});
