/* What was marked and not sent yet, kept on this device under the id of its performance. Nothing leaves the device here. */
"use strict";

const Keep = (() => {
  const PREFIX = "observation:";
  const key = (id) => PREFIX + id;
  const read = (id) => JSON.parse(localStorage.getItem(key(id)) || "null");
  const write = (state) => localStorage.setItem(key(state.id), JSON.stringify(state));
  const drop = (id) => localStorage.removeItem(key(id));
  const all = () => Object.keys(localStorage).filter((name) => name.startsWith(PREFIX)).map((name) => JSON.parse(localStorage.getItem(name)));
  return { read, write, drop, all };
})();
