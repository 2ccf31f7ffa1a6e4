"""How near a design comes to further faults: a tie-breaker between points of equal cost.

Of many points at which a key fits, most spoil the room of keys to come. A bitting that keeps most
of a master's cuts lies close to many boxes: one cut more in any of them and it opens. A box that
grows by a cut that many keys have lies close to them. So count pairs of a key and a lock that it
shall not open by their *distance*, the number of positions that keep the key out:

    crowding = sum over pairs of NEAR ** distance

A pair at distance 0 is a wrong opening. The measure prefers words that differ from their masters
wherever nothing is lost by it, and cuts that no other key has in a position: it finds the codes
that one would invent by hand for keys outside the tree.
"""

import numpy as np
from numpy.typing import NDArray

from pinloom.design.boxes import UNPLACED, Board
from pinloom.design.zones import Ints

Doubles = NDArray[np.float64]

NEAR = 0.125


def cuts_of(board: Board, points: Ints) -> Ints:
    """Symbols of points, points x positions."""
    found: Ints = (points[:, None] // board.strides) % np.array(board.shape)
    return found


class Crowding:
    """The measure on one board."""

    def __init__(self, board: Board) -> None:
        self._board = board
        self._powers = NEAR ** np.arange(len(board.shape) + 1)
        # Zones by split mask, position by position, as bit masks.
        self._zones = [
            np.array(
                [sum(1 << v for v in board.zones.zone(p, mask)) for mask in range(1 << n)],
                dtype=np.int64,
            )
            for p, n in enumerate(board.shape)
        ]

    def of_points(self, points: Ints, own: Ints) -> Doubles:
        """Per point, its crowding with all locks but ``own``, as they stand."""
        board = self._board
        cuts = cuts_of(board, points)
        far = np.zeros((len(points), len(board.rows)), dtype=np.int8)
        for p, zones in enumerate(self._zones):
            far += (zones[board.splits[:, p]] >> cuts[:, p, None] & 1) == 0
        weight = self._powers[far]
        weight[:, own] = 0
        return np.asarray(weight.sum(axis=1))

    def of_boxes(self, masks: Ints) -> Doubles:
        """Per candidate, the crowding of some boxes with all placed keys. ``masks`` = split masks,
        candidates x locks x positions; their rightful keys are counted too, the same in every row.
        """
        board = self._board
        cuts = cuts_of(board, board.point[board.point != UNPLACED])
        total = np.zeros(len(masks), dtype=np.float64)
        for lock in range(masks.shape[1]):
            far = np.zeros((len(masks), len(cuts)), dtype=np.int8)
            for p, zones in enumerate(self._zones):
                far += (zones[masks[:, lock, p]][:, None] >> cuts[:, p] & 1) == 0
            total += self._powers[far].sum(axis=1)
        return total
