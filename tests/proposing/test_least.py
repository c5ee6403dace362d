"""Proposals are the least, compared with a trial of every choice of signals.

What holds is decided by the two-train search, which shares no code with the library; so are the
roads and the track that trains come to.
"""

from __future__ import annotations

import json

import pytest

from amount import amount
from oracle.ground import Ground
from oracle.two_trains import holds
from proposing.bare import NOWHERE_FOR_A_POST, bare_plan, signalled, track_ends
from proposing.brute import fewest, pieces, runs_past, sidings_of
from trappoint.proposing.proposal import CannotPropose, propose

BATCHES = amount(1, long=40)
EACH = 120
MAX_ENDS = 9


@pytest.mark.parametrize("batch", range(BATCHES))
def test_nothing_smaller_holds(batch: int) -> None:
    tried = 0
    for seed in range(batch * EACH, (batch + 1) * EACH):
        plan = bare_plan(seed, (1, 3))
        if "turntables" in plan or "yards" in plan or len(track_ends(plan)) > MAX_ENDS:
            continue
        if runs_past(Ground(signalled(plan, tuple(track_ends(plan)))), plan):
            continue
        tried += 1
        draft = propose(json.dumps(plan)).drafts[0]
        after = json.loads(draft.text)
        assert draft.report.holds, seed
        assert holds(after), seed
        assert draft.least, seed
        assert draft.worth == draft.signals + draft.arms, seed
        best = fewest(plan)
        assert pieces(Ground({"signals": {}, **after}), sidings_of(plan)) == best, seed
        assert draft.worth == best[1], seed
    assert tried > 12


def test_where_no_post_can_stand() -> None:
    with pytest.raises(CannotPropose, match="a needed place allows no signal"):
        propose(json.dumps(NOWHERE_FOR_A_POST))
