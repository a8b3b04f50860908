/* Opens the bench again where the network is dead, from what this tablet kept of it (reopen.js). With the network it
   stands aside: what the register answers is what is shown. It keeps nothing itself. */
"use strict";

const KEPT = "bench";
const LASTS = 12 * 3600 * 1000; // a session's length: nobody opens yesterday's bench without signing in
const DEAD = [502, 503, 504]; // a proxy that finds no register behind it

const isFresh = (answer) => Date.now() - Date.parse(answer.headers.get("Date")) < LASTS;

const kept = async (request) => {
  const found = await (await caches.open(KEPT)).match(request, { ignoreVary: true });
  return found && (request.mode !== "navigate" || isFresh(found)) ? found : undefined;
};

const answers = async (request) => {
  try {
    const answer = await fetch(request);
    return (DEAD.includes(answer.status) && (await kept(request))) || answer;
  } catch (dead) {
    const found = await kept(request);
    if (found) return found;
    throw dead;
  }
};

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  if (event.request.method === "GET") event.respondWith(answers(event.request));
});
