/* Every form somebody types into: what is typed stays on this device until the register has it, except what is secret.
   Without it a form sends itself. A form that is not to be kept says why (data-unkept). */
"use strict";

(() => {
  const SKIPPED = ["csrfmiddlewaretoken", "submission", "photo", "statement", "credential"]; // the page's own, or kept apart
  const MANAGED = /-(TOTAL|INITIAL|MIN_NUM|MAX_NUM)_FORMS$/; // how many rows this page has
  const NOT_TYPED = ["hidden", "submit", "button", "password", "file", "fieldset", "output"];
  const SIDE = 1600; // pixels; the register keeps no more, and a device keeps little

  const isSecret = (field) => field.type === "password" || field.autocomplete === "one-time-code"; // never on the device
  const isTicked = (field) => field.type === "radio" || field.type === "checkbox";
  const isTyped = (field) => Boolean(field.name) && !NOT_TYPED.includes(field.type) && !isSecret(field);
  const isKept = (field) => field.name && field.type !== "submit" && field.type !== "file" && !isSecret(field) && !SKIPPED.includes(field.name) && !MANAGED.test(field.name);

  /* What was typed or refused is seen, also where its part of the page is folded. */
  const unfoldsAround = (field) => {
    for (let fold = field?.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.setAttribute("open", "");
  };

  const shrinks = async (file) => {
    const picture = await createImageBitmap(file);
    const share = Math.min(1, SIDE / Math.max(picture.width, picture.height));
    const canvas = Object.assign(document.createElement("canvas"), { width: Math.round(picture.width * share), height: Math.round(picture.height * share) });
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    return canvas.toDataURL("image/jpeg", 0.8);
  };

  const asFile = (data) => new Blob([Uint8Array.from(atob(data.split(",")[1]), (letter) => letter.charCodeAt(0))], { type: "image/jpeg" });

  /* The register answered with a page: it takes the place of this one, and nothing is sent a second time (a password least
     of all). Scripts that draw listen for "drawn". */
  const draws = (html, address) => {
    const page = new DOMParser().parseFromString(html, "text/html");
    const main = page.getElementById("main");
    if (!main) return false;
    const again = history.state?.drawn && address === location.href; // going back leads to the form, not to each refusal of it
    history[again ? "replaceState" : "pushState"]({ drawn: true }, "", address);
    document.getElementById("main").replaceWith(document.adoptNode(main));
    const known = page.getElementById("entry");
    if (known) document.getElementById("entry").textContent = known.textContent;
    document.title = page.title;
    const here = [...document.scripts].map((each) => each.getAttribute("src"));
    [...page.scripts].map((each) => each.getAttribute("src")).filter((src) => src && !here.includes(src)).forEach((src) => document.head.append(Object.assign(document.createElement("script"), { src })));
    window.scrollTo(0, 0);
    document.dispatchEvent(new Event("drawn"));
    return true;
  };

  const keepsForm = (typed, known, key) => {
    const secret = [...typed.elements].some(isSecret);
    const staysHere = !("covers" in typed.dataset); // a photo of which something is covered is never kept uncovered
    const button = typed.querySelector("button:not([data-plain]):not([type=button])");
    const fields = () => [...typed.elements].filter((field) => isKept(field) && (!isTicked(field) || field.checked));
    const values = () => {
      const found = {};
      fields().forEach((field) => (found[field.name] ||= []).push(field.value));
      return found;
    };

    const notice = document.getElementById("kept-notice").content.firstElementChild.cloneNode(true);
    notice.querySelector("[data-secret]").hidden = !secret;
    typed.before(notice);

    /* One submission for this form and person. Its id is made with the page, kept, and sent every time: twice is one fact. */
    const number = typed.elements.submission; // a form that enters a row by its code has none, and needs none to be one row
    const earlier = KeptEntries.all().find((each) => each.form === key && each.observer === known.observer);
    const entry = earlier || {
      ...known, form: key, listed: Boolean(known.what), id: number ? number.value : `${key} ${Date.now()}`,
      startedAt: new Date().toISOString(), finishedAt: null, values: {}, photo: "",
    };
    entry.what ||= document.title.split(" · ")[0];
    entry.who ||= document.querySelector(".strip small")?.textContent || "";
    const sentBefore = known.answered && (!number || number.value === entry.id); // a page that answers shows what it was sent
    if (number) number.value = entry.id;
    const untouched = JSON.stringify(values());

    const keeps = (changes = {}) => {
      Object.assign(entry, changes, { values: values() });
      if (!earlier && !entry.finishedAt && !entry.photo && JSON.stringify(entry.values) === untouched) return KeptEntries.drop(entry.id);
      try {
        KeptEntries.write(entry);
      } catch { // the device is full: the words matter more than the picture
        KeptEntries.write({ ...entry, photo: "" });
        tells(["The photo does not fit on this tablet. It is sent with the entry, but not kept here."]);
      }
    };

    const restores = () => {
      const seen = {};
      [...typed.elements].filter((field) => isKept(field) && (field.name in entry.values || isTicked(field))).forEach((field) => {
        const kept = entry.values[field.name] || [];
        const value = isTicked(field) ? "" : kept[seen[field.name] = (seen[field.name] ?? -1) + 1] ?? "";
        if (!isTicked(field) && field.value !== value) unfoldsAround(field);
        if (isTicked(field)) field.checked = kept.includes(field.value);
        else field.value = value;
        if (!isTicked(field) || field.checked) field.dispatchEvent(new Event("input", { bubbles: true }));
      });
      notice.querySelector("[data-since]").textContent = begunAt(entry);
      notice.querySelector("[data-photo]").hidden = !entry.photo;
      notice.hidden = false;
      unfoldsAround(typed);
    };

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
      shows: async (response) => { // a page: the form with what is wrong, or what was made
        keeps({ finishedAt: null });
        const isPage = (response.headers.get("Content-Type") || "").startsWith("text/html");
        if (isPage && draws(await response.text(), response.url)) {
          if (!document.querySelector(`form[data-kept-as="${CSS.escape(entry.id)}"]`)) KeptEntries.drop(entry.id);
          return;
        }
        plainly = true;
        typed.requestSubmit(pressed);
      },
      locked: () => {
        keeps({ finishedAt: null });
        tells(
          [secret ? "The tablet locked itself meanwhile. Nothing is lost but the proof: what you typed is on this tablet. Sign in again, and prove it again." : "The tablet locked itself meanwhile. Nothing is lost: what you typed is on this tablet. Sign in again, then send."],
          Object.assign(document.createElement("a"), { className: "button", href: known.unlock, textContent: "Sign in again" }),
        );
      },
    });

    const sends = async () => {
      place.hidden = true;
      keeps({ finishedAt: entry.finishedAt || new Date().toISOString() });
      const body = new FormData(typed, pressed);
      if (entry.photo) body.set("photo", asFile(entry.photo), "photo.jpg");
      if (button) button.disabled = true;
      await sending(typed.getAttribute("action") || known.address, body);
      if (button) button.disabled = false;
    };

    /* ---------- beginning ---------- */
    typed.dataset.keptAs = entry.id;
    if (earlier && !sentBefore) restores();
    typed.addEventListener("input", (event) => (event.target.name === "photo" && staysHere ? takesPhoto(event.target.files[0]) : keeps()));
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
  };

  /* A form is known by where it is sent, and by its place among those that are sent there. */
  const keepsForms = () => {
    const known = JSON.parse(document.getElementById("entry").textContent);
    const among = {};
    document.querySelectorAll("form[method=post]:not([target]):not([data-unkept])").forEach((form) => {
      if (![...form.elements].some(isTyped)) return;
      const to = form.getAttribute("action") || known.address;
      among[to] = (among[to] ?? -1) + 1;
      if (!form.dataset.keptAs) keepsForm(form, known, `${to}#${among[to]}`);
    });
  };

  if (document.getElementById("entry")) {
    keepsForms();
    document.addEventListener("drawn", keepsForms);
    window.addEventListener("popstate", () => window.location.reload());
  }
})();
