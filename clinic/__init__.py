"""Who and what is here, and the record. Choices that reach through the whole room, each with its reason.

- What the clinic asks of training (who is usable, what falls without somebody, who is still to be taught about a new
  hazard, what a procedure says) is one file, `clinic/port.py`; who may do what comes from sources that add up
  (`clinic/permissions.py`). The answers of training are put in at the start. The clinic never imports training.
- One signal, `clinic.record.fact_recorded`, sent inside the transaction, keeps the stored spans
  (`training/spans.py`).
- What every write and every page asks of the database is put together once by Django's own query sets and then only
  asked (`clinic/prepared.py`): putting a statement together takes several times as long as answering it. Nothing that
  is answered is kept.
- A seal says the form it was made in (`clinic/rules/seal.py`, `FORMS`) and what it covers (`SealShape`: the columns
  of the fact and of the rows that belong to it, written after each migration). So a column added later leaves older
  seals whole, and one that is filled in afterwards is found. A later form stands beside the first one; none is ever
  changed.
- Refusals of change are put on every table of a fact after each migration (`clinic/models/refusal.py`), so that a new
  kind of fact is covered the day it is made.
- Heads that others hold: each site's row keeps the peaks of a Merkle tree over its seals (RFC 9162);
  `clinic/checkpoints.py` signs its head as an open signed note, with a key in the var folder. Binder and certificate
  print it, a thread of `serve` mails it to the owners and writes it below `checkpoints/` and to further places every
  week, and the check of the seals holds the log against every one that lies there. Of libraries for the tree, the one
  that fits is under a licence (GPL) that would become the register's.
- A jump of the clock is refused at the start and recorded as a fact when it is met (`clinic.record.instant_for`); the
  next facts follow the clock again, and `clock right` says openly what was wrong. No instant is ever changed.
- The demo is played person by person, so its clock goes back and forth. Inside `clock.replaying` that is no jump;
  the play says at each site that it does so (`clinic.actions.clock.say_replayed`), and a test holds that nothing else
  calls it.
- A photo is a fact of its own beside its entry, its bytes in the database, their digest in the seal. What was issued
  is frozen; the seal covers the digest of the content and that of the file.
- Reference data are what their changes say: `clinic/replay.py` tells the sealed `Change` facts of each row one after
  the other and names what the tables say otherwise. Within a site they have the order of its chain; where a row was
  changed from several sites, the chains are woven by what each change found. What is of no single site (the practice,
  the library's rows) stands in the chain of the oldest one.
- One check with parts (`clinic/seals.py`): what a site shows and what only the whole register shows. Training adds
  its papers and its timelines to it at the start.
- Copies of the register cannot be seen from inside it: a backup and a restore drill record themselves as a
  `Safeguard`, and are found late or failed like anything else.
- A copy (`clinic/keeping/`) is one file: database, issued papers, and the head of each log signed over the very state
  that was copied. Beside it lie the same heads in the open, so that a restore knows how far the record went even from
  copies that are locked or damaged. Kept are the newest of each of 7 days, 5 weeks and 12 months
  (`clinic/rules/pruning.py`). The key that signs is in none; where it was lost, the old public keys go on opening the
  old heads.
- Purging (`clinic/rules/purging.py`, `clinic/actions/purging.py`) takes contents away and leaves the seal; a sealed
  `Purged` says what it sealed, and the check of the seals asks for that. A period is the least time: what standings
  and findings of past days are worked out from is never offered, and the table says so beside each line.
- A database that can be read and not written (`clinic/cannot_write.py`): a write waits eight seconds, then answers
  503 in words with what was typed in the form; what changes in a session meanwhile is kept in memory
  (`clinic/session_store.py`). Nobody is signed in while guesses cannot be counted, and whoever let their session lock
  waits too.
- A restore that is older than a known head fails with the number of facts that are missing. `--accept-missing` with
  that number goes on; the record says so, and the heads that lay beyond are set aside below `superseded`.
- The server has limits of its own (`clinic/serving.py`): connections at a time, of one address, of silence, of how
  long a request may take to arrive. Behind a proxy the share of an address is the proxy's to give. A refusal that no
  form shows is page 409, and what cannot be read is page 400 (`clinic/middleware.py`).
- An invitation is for whoever has no password yet. Getting back into an account is a recovery: asked for by one
  person, confirmed by a second who stands as high at the account's own site and wherever else its owner holds a post
  (`clinic/rules/ranks.py`), each step a sealed fact of which the owner is told. Nobody holds a code for somebody
  above them.
- A second factor is asked of owners, coordinators and safety officers from the fifteenth day after their post began
  or their account was opened, whichever is later (`clinic/rules/second_factor.py`); anybody may add one. After that
  day nothing opens to them but their own account. No setting turns it off. The demo practice keeps the rule and opens
  its accounts anew at each start, so that its fourteen days begin then.
- An app's secret is encrypted with a key made from `MILLROOM_SECRET`; a register restored without that secret takes
  no codes of apps, only passkeys and recovery codes. The remedy is `recover_account … --second-factor-lost`.
- A passkey belongs to the name in the address. Another name, or a bare number, asks for a code instead.
- The last second factor of somebody who needs one is not removed; where it is lost, a recovery ends it
  (`factor_lost`).
- A PIN (`clinic/pins.py`) weakens none of this: it counts only on the device and day on which its person proved password
  and second factor, gives back what was proved there and ends when that would have, and never where a second factor was
  added since. What changes an account, and what is approved or founded for everybody, asks the password. A signature
  says in its own words that it rests on a PIN, and when the password was given; an entry by PIN was recorded by its person.
- Whoever unlocks their own session proves name and password again; that neither lengthens the session nor asks the
  second factor again, which was proved when it began.
"""
