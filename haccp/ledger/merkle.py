"""The Merkle tree of RFC 9162 section 2.1: hashes, roots, and proofs of inclusion and consistency.

Pure functions on bytes. A hash is 32 bytes (SHA-256). A complete subtree is named by its address
`(level, position)`: it covers the 2**level leaves from position * 2**level. Address (0, i) is leaf i. A log stores
the root of each complete subtree once; every root and proof is put together from those: from O(log n) of them for a
root, O(log² n) for a proof.
"""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

Address = tuple[int, int]
Span = tuple[int, int]  # leaves start <= i < stop

EMPTY_ROOT = hashlib.sha256(b"").digest()


def leaf_hash(data: bytes) -> bytes:
    """Hash of one leaf: SHA-256(0x00 || data). RFC 9162 s.2.1.1."""
    return hashlib.sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Hash of an interior node: SHA-256(0x01 || left || right). RFC 9162 s.2.1.1."""
    return hashlib.sha256(b"\x01" + left + right).digest()


@dataclass(frozen=True, slots=True)
class Frontier:
    """All that appending needs of a tree: its size and the roots of its complete subtrees, largest first.

    There is one peak for each bit set in `size`. Errors: ValueError where the two do not agree.
    """

    size: int = 0
    peaks: tuple[bytes, ...] = ()

    def __post_init__(self) -> None:
        if self.size < 0 or len(self.peaks) != self.size.bit_count():
            raise ValueError(f"A tree of {self.size} leaves does not have {len(self.peaks)} peaks.")

    def append(self, leaf: bytes) -> "Appended":
        """The tree with one leaf hash more, and the complete subtrees that the leaf closes. O(log n)."""
        return self.append_complete(leaf, level=0)

    def append_complete(self, root: bytes, *, level: int) -> "Appended":
        """As if 2**level leaves were appended, of whose subtree this is the root; closed begins above it.

        Errors: ValueError where the tree does not end at a multiple of so many leaves.
        """
        if self.size % (1 << level):
            raise ValueError(f"A subtree of {1 << level} leaves cannot stand after {self.size}.")
        peaks = list(self.peaks)
        closed: list[bytes] = []
        top = root
        for _ in range(_trailing_ones(self.size >> level)):
            top = node_hash(peaks.pop(), top)
            closed.append(top)
        return Appended(Frontier(self.size + (1 << level), (*peaks, top)), tuple(closed))

    def root(self) -> bytes:
        """Root of the whole tree. O(log n)."""
        return _fold(self.peaks) if self.peaks else EMPTY_ROOT


@dataclass(frozen=True, slots=True)
class Appended:
    """closed[k] is the root of the complete subtree of 2**(k+1) leaves, or as many whole subtrees as were appended,
    whose last leaf was just appended."""

    frontier: Frontier
    closed: tuple[bytes, ...]


def root_of(leaves: Iterable[bytes]) -> bytes:
    """Root over leaf hashes, in one pass and O(log n) memory."""
    frontier = Frontier()
    for leaf in leaves:
        frontier = frontier.append(leaf).frontier
    return frontier.root()


def _trailing_ones(number: int) -> int:
    return (~number & (number + 1)).bit_length() - 1


def _fold(roots: Sequence[bytes]) -> bytes:
    """Root over neighbouring complete subtrees, largest first."""
    result = roots[-1]
    for left in reversed(roots[:-1]):
        result = node_hash(left, result)
    return result


def _split(width: int) -> int:
    """Largest power of two smaller than width (width > 1): where RFC 9162 s.2.1.1 splits a list."""
    return 1 << (width - 1).bit_length() - 1


def inclusion_spans(index: int, size: int) -> list[Span]:
    """Spans whose roots are the inclusion proof of leaf `index`, nearest first. RFC 9162 s.2.1.3.1.

    Errors: ValueError unless 0 <= index < size.
    """
    if not 0 <= index < size:
        raise ValueError(f"A log of {size} entries has no entry {index}.")
    start, stop = 0, size
    spans: list[Span] = []
    while stop - start > 1:
        middle = start + _split(stop - start)
        if index < middle:
            spans.append((middle, stop))
            stop = middle
        else:
            spans.append((start, middle))
            start = middle
    return spans[::-1]


def consistency_spans(first: int, second: int) -> list[Span]:
    """Spans whose roots prove that the tree of `first` leaves begins the one of `second`. RFC 9162 s.2.1.4.1.

    Empty when the sizes are equal, or when first is 0 (every tree begins with the empty one).
    Errors: ValueError unless 0 <= first <= second.
    """
    if not 0 <= first <= second:
        raise ValueError(f"A log of {first} entries cannot be the beginning of one of {second}.")
    if first == 0:
        return []
    start, stop = 0, second
    spans: list[Span] = []
    while stop != first:
        middle = start + _split(stop - start)
        if first <= middle:
            spans.append((middle, stop))
            stop = middle
        else:
            spans.append((start, middle))
            start = middle
    # The verifier already holds the root of the old tree, so it is left out where it is a subtree of the new one.
    if start > 0:
        spans.append((start, stop))
    return spans[::-1]


def addresses(span: Span) -> list[Address]:
    """Complete subtrees that make up a span, left to right, largest first.

    Holds for every span that the functions above return, since they start at a multiple of their own width.
    """
    start, stop = span
    found: list[Address] = []
    while start < stop:
        level = (stop - start).bit_length() - 1
        found.append((level, start >> level))
        start += 1 << level
    return found


def root_of_span(span: Span, nodes: Mapping[Address, bytes]) -> bytes:
    """Root over a span, from the roots of its complete subtrees. Errors: KeyError where one is missing."""
    return _fold([nodes[address] for address in addresses(span)]) if span[0] < span[1] else EMPTY_ROOT


def inclusion_proof(index: int, size: int, nodes: Mapping[Address, bytes]) -> list[bytes]:
    """Inclusion proof of leaf `index` in the tree of `size` leaves, as RFC 9162 s.2.1.3.1 orders it."""
    return [root_of_span(span, nodes) for span in inclusion_spans(index, size)]


def consistency_proof(first: int, second: int, nodes: Mapping[Address, bytes]) -> list[bytes]:
    """Proof that the tree of `first` leaves begins the one of `second`, as RFC 9162 s.2.1.4.1 orders it."""
    return [root_of_span(span, nodes) for span in consistency_spans(first, second)]


def includes(*, leaf: bytes, index: int, size: int, proof: Sequence[bytes], root: bytes) -> bool:
    """Whether the proof shows that `leaf` stands at `index` in the tree with this root. RFC 9162 s.2.1.3.2."""
    if not 0 <= index < size:
        return False
    node, last, result = index, size - 1, leaf
    for sibling in proof:
        if last == 0:
            return False
        if node & 1 or node == last:
            result = node_hash(sibling, result)
            while not node & 1 and node:
                node, last = node >> 1, last >> 1
        else:
            result = node_hash(result, sibling)
        node, last = node >> 1, last >> 1
    return last == 0 and result == root


def extends(*, first: int, first_root: bytes, second: int, second_root: bytes, proof: Sequence[bytes]) -> bool:
    """Whether the proof shows that the first tree is the beginning of the second. RFC 9162 s.2.1.4.2.

    The RFC leaves first = 0 and first = second aside: there the proof is empty and the roots speak for themselves.
    """
    if not 0 <= first <= second:
        return False
    if first in (0, second):
        return not proof and first_root == (EMPTY_ROOT if first == 0 else second_root)
    return _extends_proper(first, first_root, second, second_root, proof)


def _extends_proper(first: int, first_root: bytes, second: int, second_root: bytes, proof: Sequence[bytes]) -> bool:
    path = [first_root, *proof] if first & (first - 1) == 0 else list(proof)
    if not path:
        return False
    node, last = first - 1, second - 1
    while node & 1:
        node, last = node >> 1, last >> 1
    old = new = path[0]
    for sibling in path[1:]:
        if last == 0:
            return False
        if node & 1 or node == last:
            old, new = node_hash(sibling, old), node_hash(sibling, new)
            while not node & 1 and node:
                node, last = node >> 1, last >> 1
        else:
            new = node_hash(new, sibling)
        node, last = node >> 1, last >> 1
    return last == 0 and old == first_root and new == second_root
