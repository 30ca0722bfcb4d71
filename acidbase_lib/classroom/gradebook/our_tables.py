"""The kit's own tables beside nbgrader's: states of submissions, their digests, the log's head."""
from __future__ import annotations

import hashlib
import json
from typing import Any

import sqlalchemy as sa

OUR_TABLES = sa.MetaData()
# the state of a submission, written with its marks or not at all
STATES = sa.Table(
    "acidbase_marking", OUR_TABLES,
    sa.Column("assignment", sa.String(128), primary_key=True),
    sa.Column("learner", sa.String(128), primary_key=True),
    sa.Column("state", sa.String(32), nullable=False),
    sa.Column("why", sa.Text(), nullable=False),
    sa.Column("repairs", sa.Text(), nullable=False),
    sa.Column("marks", sa.Text(), nullable=False),
    sa.Column("file", sa.String(64), nullable=False),
    sa.Column("source", sa.String(16), nullable=False),
    sa.Column("marked_at", sa.DateTime(), nullable=False),
)
# what the row of a state adds up to: a damaged one is noticed, see integrity
DIGESTS = sa.Table(
    "acidbase_digest", OUR_TABLES,
    sa.Column("assignment", sa.String(128), primary_key=True),
    sa.Column("learner", sa.String(128), primary_key=True),
    sa.Column("digest", sa.String(64), nullable=False),
)
# how far the log had come when this gradebook was last written to, see history
HEADS = sa.Table(
    "acidbase_log_head", OUR_TABLES,
    sa.Column("id", sa.Integer(), primary_key=True),
    sa.Column("lines", sa.Integer(), nullable=False),
    sa.Column("chain", sa.String(64), nullable=False),
)
DIGESTED = ("assignment", "learner", "state", "why", "repairs", "marks", "file", "source")


def digest_of(row: Any) -> str:
    """Return what the row of a state adds up to; ``row`` gives its columns in DIGESTED's order."""
    return hashlib.sha256(json.dumps(list(row)).encode()).hexdigest()
