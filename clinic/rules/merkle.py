"""The Merkle tree over the links of a site's chain, by RFC 9162 (2.1): its head, and proofs about it.

A leaf is hashed behind the byte 0x00, an inner node behind 0x01, and a tree of n leaves splits at the largest power of two
below n (handbook rows F-11 to F-16). A tree of n leaves is kept as its *peaks*, the roots of its whole subtrees from left to
right: one leaf more costs a constant number of hashes on average, and the head a logarithm of them. Proofs are made from
all leaves; `clinic/verify.py` checks them by itself.

Of the kept libraries none fits: they hold the whole tree in memory or in tables of their own, or are under a licence that
would become the register's.
"""

from collections.abc import Sequence
from hashlib import sha256


def leaf_hash(data: bytes) -> bytes:
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    return sha256(b"\x01" + left + right).digest()


def grown(peaks: Sequence[bytes], size: int, data: bytes) -> list[bytes]:
    """The peaks after one leaf more. `size`: how many leaves there were. ValueError where the peaks are not of that size."""
    if len(peaks) != size.bit_count():
        raise ValueError(f"A tree of {size} leaves has {size.bit_count()} peaks, not {len(peaks)}.")
    found, node = list(peaks), leaf_hash(data)
    while size & 1:
        node, size = node_hash(found.pop(), node), size >> 1
    return [*found, node]


def head_of(peaks: Sequence[bytes]) -> bytes:
    """The root hash; that of no leaves is SHA-256 of nothing."""
    if not peaks:
        return sha256(b"").digest()
    node = peaks[-1]
    for left in reversed(peaks[:-1]):
        node = node_hash(left, node)
    return node


def root(leaves: Sequence[bytes]) -> bytes:
    """The root hash of these leaves."""
    peaks: list[bytes] = []
    for size, data in enumerate(leaves):
        peaks = grown(peaks, size, data)
    return head_of(peaks)


def split(size: int) -> int:
    """The largest power of two below the size, which is at least two."""
    return 1 << (size - 1).bit_length() - 1


def inclusion(leaves: Sequence[bytes], index: int) -> list[bytes]:
    """The hashes that lead from one leaf to the root, the lowest first (RFC 9162, 2.1.3.1). IndexError beyond the leaves."""
    if not 0 <= index < len(leaves):
        raise IndexError(f"There is no leaf {index} among {len(leaves)}.")
    if len(leaves) == 1:
        return []
    k = split(len(leaves))
    if index < k:
        return [*inclusion(leaves[:k], index), root(leaves[k:])]
    return [*inclusion(leaves[k:], index - k), root(leaves[:k])]


def consistency(leaves: Sequence[bytes], size: int) -> list[bytes]:
    """The hashes that show that the tree of the first `size` leaves stands in this one (RFC 9162, 2.1.4.1).

    Empty for none and for all of them: there is nothing to show. ValueError where the earlier tree is the larger.
    """
    if not 0 <= size <= len(leaves):
        raise ValueError(f"A tree of {len(leaves)} leaves does not extend one of {size}.")
    return subproof(leaves, size, whole=True) if size else []


def subproof(leaves: Sequence[bytes], size: int, *, whole: bool) -> list[bytes]:
    """`whole`: these leaves are a subtree whose root the verifier has already, since it is the earlier tree itself."""
    if size == len(leaves):
        return [] if whole else [root(leaves)]
    k = split(len(leaves))
    if size <= k:
        return [*subproof(leaves[:k], size, whole=whole), root(leaves[k:])]
    return [*subproof(leaves[k:], size - k, whole=False), root(leaves[:k])]
