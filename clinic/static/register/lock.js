/* Says a minute before when the tablet locks itself. Nothing here keeps it open by itself: only a touch does, on a page that
   holds the session, and the register says how long that goes on. */
"use strict";

const lockBar = document.querySelector("[data-locks-in]");

const watchesLock = (bar) => {
  const WARNS = 60, RESTS = 60, HURRIES = 10; // seconds: before the lock, between two touches that are told, in the last minute
  let told = performance.now(), timer = 0;

  const after = () => {
    bar.querySelector("[data-before]").hidden = true;
    bar.querySelector("[data-after]").hidden = false;
    bar.hidden = false;
  };
  const warns = (seconds) => {
    const at = new Date(Date.now() + seconds * 1000);
    bar.querySelector("[data-at]").textContent = at.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
    bar.hidden = false;
    timer = setTimeout(after, seconds * 1000);
  };
  const sets = (seconds) => {
    clearTimeout(timer);
    bar.hidden = true;
    if (seconds <= WARNS) warns(seconds);
    else timer = setTimeout(() => warns(WARNS), (seconds - WARNS) * 1000);
  };
  const tells = async () => {
    if (performance.now() - told < (bar.hidden ? RESTS : HURRIES) * 1000) return;
    told = performance.now();
    try {
      const answer = await fetch(bar.dataset.awake, { method: "POST", headers: { "X-CSRFToken": bar.dataset.token } });
      if (answer.redirected || !answer.ok) after();
      else sets((await answer.json()).seconds);
    } catch { /* no network: the session goes on, or not, as the last touch left it */ }
  };

  sets(Number(bar.dataset.locksIn));
  if (bar.dataset.awake) ["pointerdown", "keydown"].forEach((touch) => document.addEventListener(touch, tells));
};

if (lockBar) watchesLock(lockBar);
