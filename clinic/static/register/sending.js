/* Sends what is kept on this device. No answer, a locked tablet and a refusal lose nothing; the same id sent twice is one fact. */
"use strict";

/* `kept`: what is kept, in words ("The marks are kept"). `tells`: went(to), refused(reasons, fields), locked(); and
   shows(response), where the register answers with a page. */
const Sending = (kept, tells) => {
  const heard = async (response) => {
    const data = (response.headers.get("Content-Type") || "").includes("application/json") ? await response.json() : null;
    if (data?.go) tells.went(data.go);
    else if (data?.refusals) tells.refused([`Nothing is recorded yet. ${kept} on this tablet.`, ...data.refusals], data.fields || {});
    else if (response.redirected || response.status === 403) tells.locked();
    else if (response.ok && tells.shows) await tells.shows(response);
    else tells.refused([`The register could not take it (${response.status}). ${kept} on this tablet. Send again in a minute.`], {});
  };
  const sends = async (address, body) => {
    try {
      await heard(await fetch(address, { method: "POST", body, headers: { Accept: "application/json" } }));
    } catch {
      tells.refused([`There is no way to the register just now. ${kept} on this tablet. Send again when the network is back.`], {});
    }
  };
  return sends;
};
