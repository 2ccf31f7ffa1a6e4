"""The key tree of a bare chart: which keys are change keys, which are masters, over what.

Nothing but marks is used. Steps and why:

1. A lock weighs 1 / (number of its keys), a key the sum over its locks, so shared locks weigh next
to
   nothing.
2. The lightest key of a lock is its change key when one lock carries most of the key's weight; that
   lock is the key's *own*. Among keys of nearly equal weight the one that lies inside most other
   keys of that lock wins: a cross key over one own lock and a shared one elsewhere would steal
   the place otherwise.
3. From here on only own locks count. Keys over several own locks are candidates for masters.
   The own locks of the keys that meet at one shared lock are an *implied group*; it speaks for a
   candidate over much the same locks, and stands for a missing master where there is none.
4. Candidates clash when they overlap and neither holds the other. A family without clashes is
   chosen greedily by weight against the weight it excludes, then improved by exchanges.
5. Masters hang by size. A sub-master is kept when its brothers and it cover most of their master:
   otherwise it is a key over a few doors, such as a cleaner's, and is treated as a cross key.

Whatever is neither change key nor master is a cross key. Either reading of a doubtful key is
usable: the tree only says where to start.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from pinloom.design.problem import DesignProblem

OWN_SHARE = 0.45  # part of a change key's weight that its own lock carries at least
NEARLY = 1.3  # weights within this factor are "nearly equal"
SAME_GROUP = 0.75  # overlap, of the larger, at which an implied group speaks for a candidate
GROUP_BONUS = 2.0
SIZE_POWER = 1.4  # weight of a candidate = own locks ** this
BESIDES = 20  # locks more with which a candidate is another one all the same
COVER = 0.8  # part of a master's own locks that its sub-masters cover, if they matter
EXCHANGES = 3


@dataclass(slots=True)
class Node:
    """A master of the tree, or a group without a key of its own (``key`` None).

    ``leaves`` = change keys directly under it, ``locks`` = shared locks that belong to it: opened
    by every change key below.
    """

    key: int | None
    children: list["Node"] = field(default_factory=list)
    leaves: list[int] = field(default_factory=list)
    locks: list[int] = field(default_factory=list)

    def size(self) -> int:
        """Change keys at and below this node."""
        return len(self.leaves) + sum(child.size() for child in self.children)

    def walk(self) -> list["Node"]:
        """This node and all below, parents first."""
        found = [self]
        for child in self.children:
            found += child.walk()
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyTree:
    """``own[k]`` = own lock of change key ``k``; ``others`` = keys outside the tree, most locks
    first.

    ``twins`` = further keys over the same own locks as a master, by master.
    """

    root: Node
    own: dict[int, int]
    others: tuple[int, ...]
    twins: dict[int, tuple[int, ...]]


def infer_tree(problem: DesignProblem) -> KeyTree:
    """The tree of a problem's marks; a root without children for charts without structure."""
    return _Inference(problem).tree()


@dataclass(slots=True)
class _Candidate:
    key: int | None
    locks: frozenset[int]
    weight: float


class _Inference:
    def __init__(self, problem: DesignProblem) -> None:
        self.rows = [
            lock.openers if lock.doors else () for lock in problem.locks
        ]  # control lines are no doors
        self.columns: list[list[int]] = [[] for _ in range(problem.keys)]
        for number, row in enumerate(self.rows):
            for key in row:
                self.columns[key].append(number)
        self.own = self._own_locks()
        self.owner = {lock: key for key, lock in self.own.items()}
        self.reach = {
            key: frozenset(n for n in column if n in self.owner)
            for key, column in enumerate(self.columns)
            if key not in self.own
        }

    def tree(self) -> KeyTree:
        candidates, twins = self._candidates()
        family = _exchange(_greedy(candidates), candidates)
        root = self._hang(family)
        placed = {node.key for node in root.walk()} | {k for n in root.walk() for k in n.leaves}
        others = [k for k, column in enumerate(self.columns) if k not in placed]
        others.sort(key=lambda k: (-len(self.columns[k]), k))
        self._share(root)
        return KeyTree(root=root, own=self.own, others=tuple(others), twins=twins)

    # --- change keys -----------------------------------------------------------------------

    def _own_locks(self) -> dict[int, int]:
        share = [1.0 / len(row) if row else 0.0 for row in self.rows]
        weight = [sum(share[n] for n in column) for column in self.columns]
        own: dict[int, int] = {}
        for number, row in enumerate(self.rows):
            if not row:
                continue
            lightest = min(weight[k] for k in row)
            rivals = [k for k in row if weight[k] <= lightest * NEARLY]
            key = rivals[0] if len(rivals) == 1 else self._innermost(rivals, row)
            if share[number] < OWN_SHARE * weight[key]:
                continue
            if key not in own or share[own[key]] < share[number]:
                own[key] = number
        return own

    def _innermost(self, rivals: list[int], row: tuple[int, ...]) -> int:
        """The rival that lies inside most other keys of the lock; most marks compared are few."""
        sets = {k: frozenset(self.columns[k]) for k in rivals}
        inside = {
            k: sum(
                len(self.columns[other]) >= len(sets[k]) and sets[k] <= self._set(other)
                for other in row
                if other != k
            )
            for k in rivals
        }
        return min(rivals, key=lambda k: (-inside[k], len(sets[k]), k))

    def _set(self, key: int) -> frozenset[int]:
        cache = self.__dict__.setdefault("sets", {})
        if key not in cache:
            cache[key] = frozenset(self.columns[key])
        found: frozenset[int] = cache[key]
        return found

    # --- masters ---------------------------------------------------------------------------

    def _candidates(self) -> tuple[list[_Candidate], dict[int, tuple[int, ...]]]:
        by_reach: dict[frozenset[int], list[int]] = {}
        for key, locks in self.reach.items():
            if len(locks) >= 2:
                by_reach.setdefault(locks, []).append(key)
        found = [
            _Candidate(key=keys[0], locks=locks, weight=len(locks) ** SIZE_POWER)
            for locks, keys in by_reach.items()
        ]
        twins = {keys[0]: tuple(keys[1:]) for keys in by_reach.values() if len(keys) > 1}
        self._imply(found)
        found.sort(key=lambda c: (-len(c.locks), min(c.locks)))
        return found, twins

    def _imply(self, candidates: list[_Candidate]) -> None:
        """Let the groups that meet at shared locks speak for candidates, or stand by themselves."""
        through: dict[int, list[int]] = {}
        for number, candidate in enumerate(candidates):
            for lock in candidate.locks:
                through.setdefault(lock, []).append(number)
        known = {candidate.locks for candidate in candidates}
        for number, row in enumerate(self.rows):
            if number in self.owner:
                continue
            group = frozenset(self.own[k] for k in row if k in self.own)
            if len(group) < 3:
                continue
            common = Counter(c for lock in group for c in through.get(lock, ()))
            partner = max(
                common, key=lambda c: (_likeness(common[c], group, candidates[c]), -c), default=None
            )
            if partner is not None and _same(common[partner], group, candidates[partner]):
                candidate = candidates[partner]
                candidate.weight = GROUP_BONUS * len(candidate.locks) ** SIZE_POWER
            elif group not in known:
                known.add(group)
                candidates.append(
                    _Candidate(key=None, locks=group, weight=GROUP_BONUS * len(group) ** SIZE_POWER)
                )

    # --- the tree --------------------------------------------------------------------------

    def _hang(self, family: list[_Candidate]) -> Node:
        everything = frozenset(self.owner)
        roots = [c for c in family if c.locks == everything]
        rest = [c for c in family if c.locks != everything]
        if not roots and family:
            largest = max(family, key=lambda c: (len(c.locks), -min(c.locks)))
            # One master over nearly everything is the root; doors outside it are single keys.
            if len(largest.locks) >= COVER * len(everything):
                roots, rest = [largest], [c for c in family if c is not largest]
        whole = roots[0].locks if roots else everything
        inside = [c for c in rest if c.locks < whole]
        root = Node(key=roots[0].key if roots else None)
        self._fill(root, whole, inside)
        return root

    def _fill(self, node: Node, locks: frozenset[int], below: list[_Candidate]) -> None:
        ordered = sorted(below, key=lambda c: (-len(c.locks), min(c.locks)))
        parts: list[tuple[_Candidate, list[_Candidate]]] = []
        home: dict[int, int] = {}
        for candidate in ordered:
            part = home.get(min(candidate.locks))
            if part is None:
                home.update(dict.fromkeys(candidate.locks, len(parts)))
                parts.append((candidate, []))
            else:
                parts[part][1].append(candidate)
        covered = sum(len(c.locks) for c, _ in parts)
        meagre = covered < COVER * len(locks) or len(parts) == 1
        rest = set(locks)
        for candidate, inner in parts:
            bonus = candidate.weight > len(candidate.locks) ** SIZE_POWER
            child = Node(key=candidate.key)
            self._fill(child, candidate.locks, inner)
            if meagre and not bonus and not child.children:
                continue
            node.children.append(child)
            rest -= candidate.locks
        node.leaves = sorted(self.owner[lock] for lock in rest)

    def _share(self, root: Node) -> None:
        """Give every shared lock to the smallest node whose change keys all open it."""
        node_of = {k: node for node in root.walk() for k in node.leaves}
        nodes = {id(node): node for node in root.walk()}
        for number, row in enumerate(self.rows):
            if number in self.owner:
                continue
            counts = Counter(id(node_of[k]) for k in row if k in node_of)
            for name, count in counts.items():
                if count >= 2 and 2 * count >= len(nodes[name].leaves):
                    nodes[name].locks.append(number)


def _same(common: int, group: frozenset[int], candidate: _Candidate) -> bool:
    """Whether a group that meets at a lock is the candidate's. It is not when the candidate has
    many locks besides: these are other parts under the same master.
    """
    besides = len(candidate.locks) - common
    return _likeness(common, group, candidate) >= SAME_GROUP and besides <= BESIDES


def _likeness(common: int, group: frozenset[int], candidate: _Candidate) -> float:
    return common / max(len(group), len(candidate.locks))


def _clashes(candidates: Sequence[_Candidate]) -> list[set[int]]:
    """Per candidate, those that overlap it without one holding the other."""
    through: dict[int, list[int]] = {}
    for number, candidate in enumerate(candidates):
        for lock in candidate.locks:
            through.setdefault(lock, []).append(number)
    # Locks under the same candidates count together.
    columns = Counter(tuple(column) for column in through.values())
    common: Counter[tuple[int, int]] = Counter()
    for column, times in columns.items():
        for i, a in enumerate(column):
            for b in column[i + 1 :]:
                common[a, b] += times
    found: list[set[int]] = [set() for _ in candidates]
    for (a, b), count in common.items():
        if count < min(len(candidates[a].locks), len(candidates[b].locks)):
            found[a].add(b)
            found[b].add(a)
    return found


def _greedy(candidates: list[_Candidate]) -> list[int]:
    clashes = _clashes(candidates)
    weight = [candidate.weight for candidate in candidates]

    def merit(number: int) -> float:
        against = sum(weight[other] for other in clashes[number])
        return weight[number] / (1.0 + against / weight[number])

    order = sorted(range(len(candidates)), key=lambda n: (-merit(n), n))
    chosen: set[int] = set()
    for number in order:
        if not clashes[number] & chosen:
            chosen.add(number)
    for _ in range(EXCHANGES):
        for number in order:
            out = clashes[number] & chosen
            if number not in chosen and sum(weight[other] for other in out) < weight[number]:
                chosen = (chosen - out) | {number}
    return sorted(chosen)


def _exchange(chosen: list[int], candidates: list[_Candidate]) -> list[_Candidate]:
    return [candidates[number] for number in chosen]
