"""What is kept beside a plan, so that other money, hours or light are weighed without planning anew.

It stands and falls with the plan: whatever makes a plan anew (`fingerprints.Fingerprints`) makes this anew. A group keeps its judgement
packed, mostly 1 to 3 kB, and shares the set of ways with all groups for which the same passes; see `arrangements.choosing.weighing`.
"""

from __future__ import annotations

import marshal
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import cast

from spanwalk.rules.arrangements.choosing.choosing import Way
from spanwalk.rules.arrangements.choosing.weighing import Lit, Standing, Ways, alike_key
from spanwalk.rules.judging.judgement_types import Judgement

QUICKLY = 1
"""Level of zlib: a third of the size in a fifth of the time of its best."""


@dataclass(frozen=True)
class Kept:
    """What is kept of one group.

    Parameters
    ----------
    ways : Ways
        What passes fit, electrics and duty: one object for all groups for which the same does.
    packed : bytes
        Its judgement.
    of_judgement : bytes
        Fingerprint of what that was made from: with other prices or terms of money it stands.
    of_ways : bytes
        Fingerprint of what the ways were found from: with other terms of money they stand.
    standings : dict
        Place of a setting that was best in some question -> what holds of the group with it; grows with what is asked, a few each.
    lit : dict
        Which settings gave the light that was wanted when it was last asked: see `weighing.Lit`; what changes money alone asks for no other.
    """

    ways: Ways
    packed: bytes
    of_judgement: bytes
    of_ways: bytes
    standings: dict[int, Standing] = field(default_factory=dict)
    lit: Lit = field(default_factory=dict)

    @property
    def judged(self) -> Judgement:
        """The judgement of the group's fits."""
        return cast("Judgement", marshal.loads(zlib.decompress(self.packed)))


class Sets:
    """Sets of ways of one catalogue: like ones are one object.

    Parameters
    ----------
    kept : iterable of Kept
        What is kept from before, of the same catalogue.
    """

    def __init__(self, kept: Iterable[Kept] = ()) -> None:
        # Taken at once: another thread may keep more meanwhile (`weighing.kept_of`).
        self._known = {each.ways.key: each.ways for each in tuple(kept)}

    def shared(self, ways: Sequence[Way]) -> Ways:
        """The one object for ways that pass."""
        key = alike_key(ways)
        return self._known.get(key) or self._known.setdefault(key, Ways(ways, key))

    def kept(self, ways: Ways, judged: Judgement, of_judgement: bytes, of_ways: bytes) -> Kept:
        """What to keep of a group that was planned, with the fingerprints of what its judgement and its ways were made from."""
        packed = zlib.compress(marshal.dumps(cast("dict[str, object]", judged)), QUICKLY)
        return Kept(ways, packed, of_judgement, of_ways)


__all__ = ["Kept", "Sets"]
