"""Handbook section 6, rows F-11 to F-18: Merkle trees, their proofs, and Ed25519, against the published vectors.

Every test carries its source and its mark: V read in the source, R recomputed, M from memory, D own design. The leaves, roots
and proofs are the reference inputs of the transparency logs' own test code; the signatures are those of RFC 8032, 7.1. The
proofs are made by `clinic.rules.merkle` and checked by `clinic.verify`, which share no code.
"""

from hashlib import sha256

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from clinic.rules.merkle import consistency, grown, head_of, inclusion, leaf_hash, node_hash, root
from clinic.verify import Fails, LogHead, extends, opened, read_head, read_key, root_by_inclusion

# F-12, V+R
LEAVES = [
    bytes.fromhex(text)
    for text in ("", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f")
]
# F-13, V+R: the roots over the first 0 to 8 of them
ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
CA85 = "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0"
BC1A = "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"
FIVE_F = "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e"
# F-14, V+R: leaf index, size, path
INCLUSIONS = [
    (
        0,
        8,
        [
            "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
            FIVE_F,
            "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
        ],
    ),
    (5, 8, [BC1A, CA85, ROOTS[4]]),
    (2, 3, [ROOTS[2]]),
]
# F-15, V: earlier size, later size, path
CONSISTENCIES = [
    (6, 8, ["0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a", CA85, ROOTS[4]]),
    (2, 5, [FIVE_F, BC1A]),
]


@pytest.mark.parametrize("size", range(9), ids="F-13 V+R of {}".format)
def test_the_root_of_the_reference_leaves_is_the_published_one(size: int) -> None:
    assert root(LEAVES[:size]).hex() == ROOTS[size]


@pytest.mark.parametrize("size", range(8), ids="F-11 V from {}".format)
def test_a_tree_that_grows_by_a_leaf_has_the_root_of_the_whole(size: int) -> None:
    peaks: list[bytes] = []
    for count, leaf in enumerate(LEAVES[: size + 1]):
        peaks = grown(peaks, count, leaf)
    assert head_of(peaks).hex() == ROOTS[size + 1]


def test_leaves_and_nodes_are_hashed_apart() -> None:
    """F-16, V."""
    assert leaf_hash(b"L123456").hex() == "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    assert node_hash(b"N123", b"N456").hex() == "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"


@pytest.mark.parametrize(("index", "size", "path"), INCLUSIONS, ids="F-14 V+R {}".format)
def test_an_inclusion_proof_is_the_published_one_and_leads_to_the_root(index: int, size: int, path: list[str]) -> None:
    made = inclusion(LEAVES[:size], index)
    assert [each.hex() for each in made] == path
    assert root_by_inclusion(index, size, LEAVES[index], made).hex() == ROOTS[size]


def test_two_hashes_of_a_path_in_the_wrong_order_lead_elsewhere() -> None:
    """F-14, V+R."""
    one, other, *rest = inclusion(LEAVES, 0)
    assert root_by_inclusion(0, 8, LEAVES[0], [other, one, *rest]).hex() != ROOTS[8]


@pytest.mark.parametrize(("earlier", "later", "path"), CONSISTENCIES, ids="F-15 V {}".format)
def test_a_consistency_proof_is_the_published_one_and_holds(earlier: int, later: int, path: list[str]) -> None:
    made = consistency(LEAVES[:later], earlier)
    assert [each.hex() for each in made] == path
    assert extends(head(later), head(earlier), made)


def head(size: int) -> LogHead:
    return LogHead(size, bytes.fromhex(ROOTS[size]))


MANY = [bytes([n]) for n in range(40)]


@pytest.mark.parametrize("size", range(1, 41))
def test_every_leaf_of_every_tree_is_proved_and_no_other_in_its_place(size: int) -> None:
    """RFC 9162, 2.1.3: every place of every size up to forty; another leaf, place or a shorter path does not lead there."""
    whole = root(MANY[:size])
    for index in range(size):
        path = inclusion(MANY[:size], index)
        assert root_by_inclusion(index, size, MANY[index], path) == whole
        assert root_by_inclusion(index, size, b"other", path) != whole
        if path:
            with pytest.raises(Fails):
                root_by_inclusion(index, size, MANY[index], path[:-1])
        with pytest.raises(Fails):
            root_by_inclusion(index, size, MANY[index], [*path, whole])


@pytest.mark.parametrize("later", range(41))
def test_every_tree_extends_each_of_its_beginnings_and_nothing_else(later: int) -> None:
    """RFC 9162, 2.1.4: every pair of sizes up to forty; a changed, a cut and a lengthened proof and another head do not hold."""
    now = LogHead(later, root(MANY[:later]))
    for earlier in range(later + 1):
        then, path = LogHead(earlier, root(MANY[:earlier])), consistency(MANY[:later], earlier)
        assert extends(now, then, path)
        other = LogHead(earlier, root([*MANY[: earlier - 1], b"other"])) if earlier else LogHead(0, bytes(32))
        assert not extends(now, other, path)
        assert not extends(now, then, [*path, bytes(32)])
        if path:
            assert not extends(now, then, path[:-1])
            assert not extends(now, then, [bytes(32), *path[1:]])
    assert not extends(LogHead(later, now.root), LogHead(later + 1, now.root), [])


SIGNATURES = [  # RFC 8032, 7.1, R: secret, public, message, signature
    pytest.param(
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
        id="F-17 R",
    ),
    pytest.param(
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
        id="F-18 R",
    ),
]


@pytest.mark.parametrize(("secret", "public", "message", "signature"), SIGNATURES)
def test_ed25519_gives_the_standards_keys_and_signatures(
    secret: str, public: str, message: str, signature: str
) -> None:
    key = Ed25519PrivateKey.from_private_bytes(bytes.fromhex(secret))
    assert key.public_key().public_bytes_raw().hex() == public
    assert key.sign(bytes.fromhex(message)).hex() == signature


# The example note and its key as several open implementations of signed notes print them in their documentation (V).
VKEY = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"
NOTE = (
    "This is an example message.\n\n"
    "— example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n"
)


def test_a_published_note_opens_with_its_published_key() -> None:
    assert opened(NOTE, read_key(VKEY)) == "This is an example message.\n"


@pytest.mark.parametrize(
    "spoilt",
    [
        NOTE.replace("example message", "Example message"),
        NOTE.replace("aQM=", "aQI="),
        NOTE.replace("foo Uw", "bar Uw"),
        NOTE.replace("\u2014 ", "- "),
        NOTE.replace("\n\n", "\n"),
    ],
)
def test_a_note_that_was_changed_in_any_part_does_not_open(spoilt: str) -> None:
    with pytest.raises(Fails):
        opened(spoilt, read_key(VKEY))


def test_a_key_whose_id_is_not_its_own_is_refused() -> None:
    with pytest.raises(Fails, match="damaged"):
        read_key(VKEY.replace("530d903a", "530d903b"))


def test_the_published_checkpoint_reads_as_origin_size_and_root() -> None:
    """The example of the open format tlog-checkpoint (V)."""
    found = read_head("example.com/behind-the-sofa\n20852163\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n")
    assert (found.origin, found.size, len(found.root)) == ("example.com/behind-the-sofa", 20852163, 32)


@pytest.mark.parametrize("text", ["o\n01\nAA==\n", "o\n-1\nAA==\n", "\n1\nAA==\n", "o\n1\n\n", "o\n1\nAA==\n", "o\n"])
def test_what_is_no_checkpoint_is_refused(text: str) -> None:
    with pytest.raises(Fails):
        read_head(text)


def test_the_head_of_an_empty_log_is_the_digest_of_nothing() -> None:
    """F-11, V."""
    assert head_of([]) == sha256(b"").digest()
