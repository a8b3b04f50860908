/* Asks the page again how far the work is, and moves its bar. Any other answer than a bar (the work ended, the tablet locked) is
   opened as the page it is. Without a script the page loads itself anew. */
"use strict";

const ASKS_EVERY = 2000; // milliseconds

const movesBar = (bar, fresh) => {
  const words = fresh.querySelector("p").textContent;
  if (bar.querySelector("p").textContent !== words) bar.querySelector("p").textContent = words; // said aloud once
  const [now, then] = [bar.querySelector("progress"), fresh.querySelector("progress")];
  now.value = then.value;
  now.max = then.max;
  now.setAttribute("aria-label", words);
};

const asksHowFar = async (bar) => {
  try {
    const answer = await fetch(location.href, { cache: "no-store" });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const fresh = answer.ok && !answer.redirected && page.getElementById("progress");
    if (!fresh) return answer.redirected ? location.assign(answer.url) : location.reload();
    movesBar(bar, fresh);
  } catch {
    // no way to the register just now: it is asked again
  }
  setTimeout(asksHowFar, ASKS_EVERY, bar);
};

setTimeout(asksHowFar, ASKS_EVERY, document.getElementById("progress"));
