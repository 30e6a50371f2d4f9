"""The tree against RFC 9162 section 2.1, its worked example (s.2.1.5), and reference leaves and roots.

The eight reference leaves and the root of all eight are those of the test data that circulates with RFC 6962
implementations (from memory); the other roots were worked out from the RFC's definition by hand-written code apart
from this project's.
"""

import hashlib
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.ledger import merkle
from haccp.ledger.merkle import Address, Frontier

REFERENCE_LEAVES = [
    bytes.fromhex(text)
    for text in ("", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f")
]
REFERENCE_ROOTS = [
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


def root_as_defined(data: Sequence[bytes]) -> bytes:
    """MTH(D_n), word for word from RFC 9162 s.2.1.1."""
    if not data:
        return hashlib.sha256(b"").digest()
    if len(data) == 1:
        return hashlib.sha256(b"\x00" + data[0]).digest()
    k = 1
    while k * 2 < len(data):
        k *= 2
    return hashlib.sha256(b"\x01" + root_as_defined(data[:k]) + root_as_defined(data[k:])).digest()


def path_as_defined(m: int, data: Sequence[bytes]) -> list[bytes]:
    """PATH(m, D_n), word for word from RFC 9162 s.2.1.3.1."""
    if len(data) == 1:
        return []
    k = 1
    while k * 2 < len(data):
        k *= 2
    if m < k:
        return [*path_as_defined(m, data[:k]), root_as_defined(data[k:])]
    return [*path_as_defined(m - k, data[k:]), root_as_defined(data[:k])]


def subproof_as_defined(m: int, data: Sequence[bytes], known: bool) -> list[bytes]:
    """SUBPROOF(m, D_n, b), word for word from RFC 9162 s.2.1.4.1."""
    if m == len(data):
        return [] if known else [root_as_defined(data)]
    k = 1
    while k * 2 < len(data):
        k *= 2
    if m <= k:
        return [*subproof_as_defined(m, data[:k], known), root_as_defined(data[k:])]
    return [*subproof_as_defined(m - k, data[k:], False), root_as_defined(data[:k])]


def grow(data: Sequence[bytes]) -> tuple[Frontier, dict[Address, bytes]]:
    """The frontier after all of data, and every complete subtree stored on the way, as a log stores them."""
    frontier, nodes = Frontier(), {}
    for index, item in enumerate(data):
        leaf = merkle.leaf_hash(item)
        appended = frontier.append(leaf)
        frontier = appended.frontier
        for level, hashed in enumerate((leaf, *appended.closed)):
            nodes[level, index >> level] = hashed
    return frontier, nodes


def sample(size: int) -> list[bytes]:
    return [f"entry {number}".encode() for number in range(size)]


@pytest.mark.parametrize("size", range(9))
def test_roots_of_the_reference_leaves(size: int) -> None:
    data = REFERENCE_LEAVES[:size]
    assert grow(data)[0].root().hex() == REFERENCE_ROOTS[size]
    assert merkle.root_of(merkle.leaf_hash(item) for item in data).hex() == REFERENCE_ROOTS[size]
    assert root_as_defined(data).hex() == REFERENCE_ROOTS[size]


def test_proofs_of_the_rfc_example_tree_of_seven_leaves() -> None:
    # RFC 9162 s.2.1.5: leaves a, b, c, d, e, f, j hold d0 to d6; g = ab, h = cd, i = ef, k = gh, l = ij.
    data = sample(7)
    nodes = grow(data)[1]
    a, b, c, d, e, f, j = (merkle.leaf_hash(item) for item in data)
    g, h, i = merkle.node_hash(a, b), merkle.node_hash(c, d), merkle.node_hash(e, f)
    k, l = merkle.node_hash(g, h), merkle.node_hash(i, j)  # noqa: E741

    assert merkle.inclusion_proof(0, 7, nodes) == [b, h, l]
    assert merkle.inclusion_proof(3, 7, nodes) == [c, g, l]
    assert merkle.inclusion_proof(4, 7, nodes) == [f, j, k]
    assert merkle.inclusion_proof(6, 7, nodes) == [i, k]

    assert merkle.consistency_proof(3, 7, nodes) == [c, d, g, l]
    assert merkle.consistency_proof(4, 7, nodes) == [l]
    assert merkle.consistency_proof(6, 7, nodes) == [i, j, k]


def test_every_inclusion_proof_to_64_leaves_is_the_one_defined_and_verifies() -> None:
    data = sample(64)
    nodes = grow(data)[1]
    for size in range(1, 65):
        root = root_as_defined(data[:size])
        for index in range(size):
            proof = merkle.inclusion_proof(index, size, nodes)
            assert proof == path_as_defined(index, data[:size])
            leaf = merkle.leaf_hash(data[index])
            assert merkle.includes(leaf=leaf, index=index, size=size, proof=proof, root=root)


def test_every_consistency_proof_to_64_leaves_is_the_one_defined_and_verifies() -> None:
    data = sample(64)
    nodes = grow(data)[1]
    roots = [root_as_defined(data[:size]) for size in range(65)]
    for second in range(1, 65):
        for first in range(1, second + 1):
            proof = merkle.consistency_proof(first, second, nodes)
            assert proof == subproof_as_defined(first, data[:second], True)
            assert merkle.extends(
                first=first, first_root=roots[first], second=second, second_root=roots[second], proof=proof
            )


@given(st.lists(st.binary(max_size=40), max_size=200))
def test_the_frontier_has_the_root_that_the_definition_gives(data: list[bytes]) -> None:
    assert grow(data)[0].root() == root_as_defined(data)


@given(size=st.integers(1, 150), chosen=st.data())
def test_an_inclusion_proof_holds_for_nothing_else(size: int, chosen: st.DataObject) -> None:
    index = chosen.draw(st.integers(0, size - 1))
    data = sample(size)
    frontier, nodes = grow(data)
    leaf, root = merkle.leaf_hash(data[index]), frontier.root()
    proof = merkle.inclusion_proof(index, size, nodes)
    assert merkle.includes(leaf=leaf, index=index, size=size, proof=proof, root=root)

    assert not merkle.includes(leaf=merkle.leaf_hash(b"other"), index=index, size=size, proof=proof, root=root)
    assert not merkle.includes(leaf=leaf, index=index, size=size, proof=[*proof, root], root=root)
    assert not merkle.includes(leaf=leaf, index=size, size=size, proof=proof, root=root)
    assert not merkle.includes(leaf=leaf, index=-1, size=size, proof=proof, root=root)
    if proof:
        place = chosen.draw(st.integers(0, len(proof) - 1))
        bent = [*proof[:place], bytes(32), *proof[place + 1 :]]
        assert not merkle.includes(leaf=leaf, index=index, size=size, proof=bent, root=root)
        assert not merkle.includes(leaf=leaf, index=index, size=size, proof=proof[:-1], root=root)
        elsewhere = chosen.draw(st.integers(0, size - 1).filter(lambda other: other != index))
        assert not merkle.includes(leaf=leaf, index=elsewhere, size=size, proof=proof, root=root)


@given(second=st.integers(2, 150), chosen=st.data())
def test_a_consistency_proof_does_not_hold_for_a_rewritten_beginning(second: int, chosen: st.DataObject) -> None:
    first = chosen.draw(st.integers(1, second - 1))
    data = sample(second)
    rewritten = chosen.draw(st.integers(0, first - 1))
    other = [*data[:rewritten], b"rewritten", *data[rewritten + 1 :]]
    old_root, new_root = root_as_defined(data[:first]), root_as_defined(data)
    honest = merkle.consistency_proof(first, second, grow(data)[1])
    forged = merkle.consistency_proof(first, second, grow(other)[1])

    def extends(new: bytes, proof: list[bytes]) -> bool:
        return merkle.extends(first=first, first_root=old_root, second=second, second_root=new, proof=proof)

    assert extends(new_root, honest)
    assert not extends(root_as_defined(other), forged)
    assert not extends(root_as_defined(other), honest)
    assert not extends(new_root, [*honest, bytes(32)])
    assert not extends(new_root, honest[:-1])


def test_a_proof_of_another_depth_than_the_size_tells_is_refused() -> None:
    data = sample(8)
    frontier, nodes = grow(data)
    root, proof = frontier.root(), merkle.inclusion_proof(0, 8, nodes)
    leaf = merkle.leaf_hash(data[0])
    assert merkle.includes(leaf=leaf, index=0, size=8, proof=proof, root=root)
    for size in (4, 9, 100):
        assert not merkle.includes(leaf=leaf, index=0, size=size, proof=proof, root=root)

    old, proof = root_as_defined(data[:4]), merkle.consistency_proof(4, 8, nodes)
    assert merkle.extends(first=4, first_root=old, second=8, second_root=root, proof=proof)
    for second in (9, 100):
        assert not merkle.extends(first=4, first_root=old, second=second, second_root=root, proof=proof)


def test_every_tree_extends_the_empty_one_and_itself() -> None:
    root = root_as_defined(sample(5))
    assert merkle.consistency_proof(0, 5, {}) == merkle.consistency_proof(5, 5, {}) == []
    assert merkle.extends(first=0, first_root=merkle.EMPTY_ROOT, second=5, second_root=root, proof=[])
    assert merkle.extends(first=5, first_root=root, second=5, second_root=root, proof=[])
    assert not merkle.extends(first=0, first_root=root, second=5, second_root=root, proof=[])
    assert not merkle.extends(first=5, first_root=root, second=5, second_root=merkle.EMPTY_ROOT, proof=[])
    assert not merkle.extends(first=6, first_root=root, second=5, second_root=root, proof=[])


@given(st.integers(1, 2**40))
def test_a_proof_needs_few_subtrees_whatever_the_size(size: int) -> None:
    spans = merkle.inclusion_spans(size // 3, size)
    needed = [address for span in spans for address in merkle.addresses(span)]
    assert len(spans) <= size.bit_length()
    assert len(needed) <= 2 * size.bit_length()


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: Frontier(3, (bytes(32),)), "A tree of 3 leaves does not have 1 peaks."),
        (lambda: merkle.inclusion_spans(4, 4), "A log of 4 entries has no entry 4."),
        (lambda: merkle.consistency_spans(5, 4), "A log of 5 entries cannot be the beginning of one of 4."),
    ],
)
def test_impossible_trees_are_refused_in_a_sentence(call, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        call()
