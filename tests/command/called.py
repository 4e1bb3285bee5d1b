"""What a call of the command gave back."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Result:
    code: int
    out: str
    err: str


def told_once(result: Result, code: int = 2) -> str:
    """The one clear message of a call that failed: on stderr, without a traceback, nothing on stdout."""
    assert result.code == code, result
    assert result.out == ""
    assert "Traceback" not in result.err
    assert result.err.startswith("wallfront: ")
    assert result.err.count("wallfront: ") == 1
    return result.err
