"""Handbook section 6, rows F-01 to F-09: digests and canonical JSON against the published vectors.

Every test carries its source and its mark: V read in the source, R recomputed, M from memory, D own design.
"""

import struct

import pytest

from clinic.rules.seal import canonical, digest, sha256_hex

SHA_256 = [  # FIPS 180-4 worked examples (F-01, R)
    (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    (
        b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    (b"a" * 10**6, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
]


@pytest.mark.parametrize(("content", "expected"), SHA_256, ids=[f"F-01 R {len(c)} bytes" for c, _ in SHA_256])
def test_sha_256_gives_the_standards_examples(content: bytes, expected: str) -> None:
    assert sha256_hex(content) == expected


STRUCTURES = {
    "1": {"f": {"f": "hi", "F": 5}, "\n": 56.0},
    "10": {},
    "": "empty",
    "a": {},
    "111": [{"e": "yes", "E": "no"}],
    "A": {},
}
VALUES = {
    "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
    "string": '€$\u000f\nA\'B"\\\\"/',
    "literals": [None, True, False],
}
FRENCH = {
    "peach": "This sorting order",
    "péché": "is wrong according to French",
    "pêche": "but canonicalization MUST",
    "sin": "ignore locale",
}
WEIRD = {
    "€": "Euro Sign",
    "\r": "Carriage Return",
    "\ufb33": "Hebrew Letter Dalet With Dagesh",
    "1": "One",
    "😂": "Smiley",
    "\u0080": "Control\u007f",
    "ö": "Latin Small Letter O With Diaeresis",
    "</script>": "Browser Challenge",
    "\n": "Newline",
}

# RFC 8785's author's test data (V+R): input, bytes, first and last digits of the SHA-256 of the canonical form.
CANONICAL = [
    pytest.param([56, {"d": True, "10": None, "1": []}], 32, "099601b1", "beac42", id="F-03 arrays V+R"),
    pytest.param(STRUCTURES, 98, "605f6500", "95d5", id="F-04 structures V+R"),
    pytest.param(VALUES, 118, "2d5e01a3", "aacb", id="F-05 values V+R"),
    pytest.param(FRENCH, 130, "d99d0ebd", "7ed5", id="F-06 french V+R"),
    pytest.param({"Unnormalized Unicode": "A\u030a"}, 30, "0d99aad9", "81d3", id="F-07 unicode V+R"),
    pytest.param(WEIRD, 214, "6af595a9", "94d1", id="F-08 weird V+R"),
]


@pytest.mark.parametrize(("value", "length", "starts", "ends"), CANONICAL)
def test_canonical_json_gives_the_published_bytes(value: object, length: int, starts: str, ends: str) -> None:
    assert len(canonical(value)) == length
    assert digest(value).startswith(starts)
    assert digest(value).endswith(ends)


def test_arrays_and_structures_are_byte_for_byte_the_published_text() -> None:
    """F-03, F-04, V+R: the texts themselves, 56.0 printed as 56."""
    assert canonical([56, {"d": True, "10": None, "1": []}]) == b'[56,{"1":[],"10":null,"d":true}]'
    assert canonical(STRUCTURES) == (
        b'{"":"empty","1":{"\\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{"E":"no","e":"yes"}],"A":{},"a":{}}'
    )


def test_keys_are_sorted_by_utf_16_code_units() -> None:
    """F-08, V+R: the smiley (D83D DE02) comes before U+FB33, which code-point order would put first."""
    text = canonical(WEIRD).decode()
    marks = ("Newline", "Carriage", "One", "Browser", "Control", "Latin", "Euro", "Smiley", "Hebrew")
    places = [text.index(mark) for mark in marks]
    assert places == sorted(places)


def test_a_ring_above_stays_two_code_points() -> None:
    """F-07, V+R: no Unicode normalisation."""
    assert canonical("A\u030a") == b'"A\xcc\x8a"'


NUMBERS = [  # RFC 8785 appendix B (F-09, R with an independent printer, table from memory M)
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555555", "333333333.3333333"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(("bits", "printed"), NUMBERS, ids=[f"F-09 R+M {bits}" for bits, _ in NUMBERS])
def test_numbers_print_as_ecmascript_prints_them(bits: str, printed: str) -> None:
    assert canonical(struct.unpack(">d", bytes.fromhex(bits))[0]) == printed.encode()


CONTROLS = [('\b\t\n\f\r"\\', r'"\b\t\n\f\r\"\\"'), ("\x00\x1f", r'"\u0000\u001f"'), ("/", '"/"')]


@pytest.mark.parametrize(("text", "printed"), CONTROLS, ids=["F-02 V short", "F-02 V hex", "F-02 V slash"])
def test_only_what_must_be_escaped_is_escaped(text: str, printed: str) -> None:
    assert canonical(text) == printed.encode()


@pytest.mark.parametrize("number", [float(text) for text in ("nan", "inf", "-inf")], ids="F-02 V {}".format)
def test_numbers_that_json_has_not_are_refused(number: float) -> None:
    with pytest.raises(ValueError, match="cannot be sealed"):
        canonical(number)
