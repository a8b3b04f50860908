/* Keeps the bench on this tablet, so that an unfinished observation opens again while the network is dead. Only the page
   of an observation that is not sent yet, and what it is drawn with. Needs HTTPS, or the machine itself. */
"use strict";

const Reopen = (() => {
  const KEPT = "bench", PLACE = "/observe/bench/";
  const can = "serviceWorker" in navigator && "caches" in window;
  const drawnWith = () => performance.getEntriesByType("resource").map((each) => each.name.split("#")[0]).filter((url) => url.startsWith(`${location.origin}/static/`));

  /* What was sent, or begun by somebody who let it be, is not kept. */
  const tidy = async () => {
    const unsent = Keep.all().map((each) => new URL(each.address, location).href);
    const kept = await caches.open(KEPT);
    const over = (await kept.keys()).filter((request) => request.url.includes(PLACE) && !unsent.includes(request.url));
    await Promise.all(over.map((request) => kept.delete(request)));
    return kept;
  };

  const keep = async (bench) => {
    await navigator.serviceWorker.register(bench.dataset.worker, { scope: location.pathname });
    const kept = await tidy();
    const page = await fetch(location.href);
    if (!page.ok || page.redirected) return;
    await kept.put(location.href, page);
    await Promise.allSettled([bench.dataset.shapes, ...drawnWith()].map((url) => kept.add(url)));
    await navigator.serviceWorker.ready;
    bench.dataset.reopens = "yes";
  };

  const bench = document.querySelector("[data-worker]");
  const begins = () => (bench ? keep(bench) : tidy()).catch(() => {}); // without it a reload needs the network, no more
  if (can) window.addEventListener("load", begins);
})();
