"""A small invented certificate, and a name that is hard on paper."""

from typing import Any

from training.documents.certificate import CertificateContent, Element

LONG = "Żofia-Ångström O’Dvořák <b>Łukaszewska</b> de la Fontaine-Achterberg & Sons"
NAMES = (
    "Direct observation of routine work",
    "Recording and reporting",
    "Review of records",
    "Maintenance observed",
    "Known or blind sample",
)


def certificate(**changes: Any) -> CertificateContent:
    plain: dict[str, Any] = {
        "number": "0412",
        "paper": "A4",
        "language": "en-GB",
        "organisation": "Harbour Row Dental",
        "site": "Harbour Row",
        "address": "12 Quay Lane",
        "person": "Ines Okafor",
        "procedure_code": "P03",
        "procedure_title": "Tool swap",
        "version": 4,
        "in_force_from": "2026-06-01",
        "unit": "unit 2",
        "through": "2027-02-11",
        "issued_at": "2026-08-11T16:25",
        "basis": "observed",
        "lowered": "",
        "performances": 5,
        "performances_clean": 5,
        "methods": "2 by real work, 3 by practice piece",
        "check": "passed on 2 July 2026, version 4",
        "watched_on": ["2026-06-16", "2026-06-30", "2026-07-14", "2026-07-28"],
        "watched_by": ["Tomas Lindqvist, lead assistant", "Dr Marguerite Achterberg, dentist"],
        "rests_on": ["P01", "P02"],
        "elements": [*(Element(name, True, "watched") for name in NAMES), Element("Problem solving", False, "")],
        "signer": "Tomas Lindqvist",
        "signer_role": "lead assistant",
        "signed_at": "2026-08-11T16:20",
        "signed_how": "by PIN on the bench tablet",
        "meaning": "I watched her do this. She may work on it alone.",
        "check_code": "OAK-71-TIDE",
        "check_url": "https://register.example/c/OAK71TIDE",
        "seal": "9c1f 44e0 a27d",
        "replaces": "",
        "maker": "the maker’s instructions, edition 7",
    }
    return CertificateContent(**(plain | changes))
