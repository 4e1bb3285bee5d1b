"""One kind of error for input that cannot be used, and the words in which it is told."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterable, Mapping

from pydantic import BaseModel, ValidationError


class InputError(ValueError):
    """Input that cannot be used: place, value and what was expected, in one message for the user."""


MOST_PARTS = 500  # of a dotted key
CHAIN = re.compile(rf"""(?<![\w-])(?:(?:[\w-]+|"[^"\n]*"|'[^'\n]*')[ \t]*\.[ \t]*){{{MOST_PARTS}}}""")
DEEPEST = 40  # levels of tables and lists in a parsed file
MOST_VALUES = 200_000
MOST_FAULTS = 40  # that one message tells
LONGEST_FAULT = 1000  # letters
LONGEST_WORD = 80  # letters of a key or a value that a message repeats


def nearest(word: str, words: Iterable[str]) -> str:
    """' (nearest: "x")' for the closest of `words`, or '' when none is close."""
    word = str(word)[:LONGEST_WORD]
    matches = difflib.get_close_matches(word, list(words), n=3, cutoff=0.5)
    if not matches:
        return ""
    # Of words about as close the one that begins alike: "framing" for "frame", not "name".
    close = [each for each in matches if _likeness(word, each) > _likeness(word, matches[0]) - 0.05]
    best = max(close, key=lambda each: _shared_start(word, each))
    return f' (nearest: "{best[:LONGEST_WORD]}")'


def _shared_start(one: str, other: str) -> int:
    return next((at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))


def _likeness(one: str, other: str) -> float:
    return difflib.SequenceMatcher(None, other, one).ratio()


def parse_toml(text: str, place: str) -> dict:
    """Parse TOML text; `place` names it in the message of an InputError, with the line and the usual slip (a comma).

    Keys of very many parts are refused first: reading one takes the square of its length.
    """
    if chain := CHAIN.search(text):
        line = text.count("\n", 0, chain.start()) + 1
        raise InputError(f"{place}: line {line}: a key of more than {MOST_PARTS} parts; no file of this kind has one")
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{place}: {error}{_decimal_comma(text, error) or _bare_key(text, error)}") from None
    except ValueError:  # an integer of thousands of digits
        raise InputError(f"{place}: holds a number too long to be read") from None
    except RecursionError:
        raise InputError(f"{place}: nested too deeply to be a file of this kind") from None
    check_shape(raw, place)
    return raw


def check_shape(raw: object, place: str, most: int | None = None) -> None:
    """InputError where a parsed file nests deeper, or holds more values, than any record of the project does."""
    count, layer, most = 0, [raw], most or MOST_VALUES
    for _ in range(DEEPEST):
        layer = [
            each
            for held in layer
            if isinstance(held, dict | list)
            for each in (held.values() if isinstance(held, dict) else held)
        ]
        count += len(layer)
        if count > most:
            raise InputError(f"{place}: holds more than {most} values; no file of this kind does")
        if not layer:
            return
    raise InputError(f"{place}: nested too deeply to be a file of this kind")


def kind_of_file(raw: Mapping) -> str | None:
    """What a parsed TOML file is by its tables, "a brief" or "a build-up", so that one taken for another is told so."""
    if "layer" in raw:
        return "a build-up"
    return "a brief" if {"slots", "prices"} <= raw.keys() else None


def _bare_key(text: str, error: tomllib.TOMLDecodeError) -> str:
    key, sign, _ = _line_of(text, error).partition("=")
    key = key.strip()
    if not sign or key.isascii() or key[:1] in "\"'#[":
        return ""
    return f'; a key with letters beyond a to z stands in quotes: "{key[:LONGEST_WORD]}" ='


def _line_of(text: str, error: tomllib.TOMLDecodeError) -> str:
    lines = text.splitlines()
    number = getattr(error, "lineno", 0)
    if not number:  # Python 3.11 to 3.13 carry the line in the message only
        words = str(error).replace(",", " ").split()
        number = int(words[words.index("line") + 1]) if "line" in words else 0
    return lines[number - 1] if 0 < number <= len(lines) else ""


def _decimal_comma(text: str, error: tomllib.TOMLDecodeError) -> str:
    _, _, value = _line_of(text, error).partition("=")
    digits = value.split("#")[0].strip().replace(",", "", 1)
    if "," in value and digits.replace(".", "").lstrip("-").isdigit():
        return f'; "{value.strip()}": write decimals with a point'
    return ""


def explain(error: ValidationError, place: str, names: dict[tuple, str] | None = None) -> InputError:
    """Turn pydantic's report into one InputError with a line per fault: place, value, what was expected."""
    model = error.title
    faults = []
    every = _without_other_branch(error.errors(include_url=False))
    for fault in every[:MOST_FAULTS]:
        where = _where(fault["loc"], names or {})
        at = f"{place}: {where}" if where else place
        value = fault["input"]
        shown = f" = {_short(value)}" if isinstance(value, str | int | float | bool) else ""
        if fault["type"] == "extra_forbidden":
            hint = nearest(str(fault["loc"][-1]), _keys_at(model, fault["loc"]))
            faults.append(f"{at}: unknown key{hint}")
        elif fault["type"] == "missing":
            faults.append(f"{at} is missing")
        else:
            faults.append(f"{at}{shown}: {_expected(fault)}")
    return InputError("\n".join(first_of(faults, len(every))))


def _without_other_branch(faults: list[dict]) -> list[dict]:
    """Without "expected a list" for a number that another branch of the same value ("float | list") refuses better."""
    better = {_where(each["loc"], {}) for each in faults if each["type"] == "value_error"}
    return [each for each in faults if each["type"] != "tuple_type" or _where(each["loc"], {}) not in better]


def first_of(faults: list[str], count: int | None = None) -> list[str]:
    """Faults as one message can tell them: the first ones, and how many more there are. count: of all, known or not."""
    more = (count or len(faults)) - MOST_FAULTS
    short = [each if len(each) <= LONGEST_FAULT else f"{each[:LONGEST_FAULT]}..." for each in faults[:MOST_FAULTS]]
    return short if more <= 0 else [*short, f"... and {more} more faults"]


def _short(value: str | int | float | bool) -> str:
    """A value as a file writes it, cut where it is long."""
    shown = str(value).lower() if isinstance(value, bool) else repr(value)
    return shown if len(shown) <= 60 else f"{shown[:57]}..."


def _expected(fault: dict) -> str:
    message = fault["msg"].removeprefix("Value error, ")
    value = fault["input"]
    if isinstance(value, str) and fault["type"] in ("float_parsing", "float_type"):
        hint = "write decimals with a point, and" if "," in value else "write it"
        return f"expected a number; {hint} without quotes or unit"
    if fault["type"] in LIMITS:
        key, words = LIMITS[fault["type"]]
        limit, count = fault["ctx"][key], fault["ctx"].get("actual_length")
        return f"expected {words}".format(limit=f"{limit:g}", s="" if limit == 1 else "s", count=count)
    for said, meant in TOML_WORDS.items():
        message = re.sub(said, meant, message)
    return message


def _where(loc: tuple, names: dict[tuple, str]) -> str:
    """('layer', 2, 'thickness_mm') -> 'layer 3 (outer frame), thickness_mm'."""
    words: list[str] = []
    for depth, part in enumerate(loc):
        if isinstance(part, int):
            name = names.get(loc[: depth + 1])
            last = words.pop() if words else "item"
            words.append(f"{last} {part + 1}" + (f" ({name})" if name else ""))
        elif not BRANCH.fullmatch(str(part)):
            words.append(str(part)[:LONGEST_WORD])
    return ", ".join(words)


# The alternatives of a value ("float | list") that pydantic names after the key.
BRANCH = re.compile(r"(float|int|str|bool|constrained-\w+|tuple|tuple\[.*\]|function-\w+\[.*\])")

# Kinds of faults with a limit: where pydantic keeps it, and how it is told.
LIMITS = {
    "greater_than": ("gt", "more than {limit}"),
    "greater_than_equal": ("ge", "at least {limit}"),
    "less_than": ("lt", "less than {limit}"),
    "less_than_equal": ("le", "at most {limit}"),
    "too_short": ("min_length", "at least {limit} value{s}, found {count}"),
    "too_long": ("max_length", "at most {limit} value{s}, found {count}"),
}

# What pydantic calls by Python's names, in those of a TOML file.
TOML_WORDS = {
    r"valid dictionary or instance of \w+": "table",
    r"valid tuple": "list",
    r"^Tuple": "list",
    r"^Input should be a valid integer": "expected a whole number",
    r"^Input should be (a )?(valid )?": r"expected \1",
}

_MODELS: dict[str, type[BaseModel]] = {}


class Checked(BaseModel, frozen=True, extra="forbid", allow_inf_nan=False, populate_by_name=True):
    """Base of every record read from a file: frozen, no unknown keys, no infinities."""

    def __init_subclass__(cls, **kwargs: object) -> None:
        super().__init_subclass__(**kwargs)
        _MODELS[cls.__name__] = cls


def keys(model: type[BaseModel]) -> list[str]:
    """The keys a record of this kind takes in a file."""
    return [field.alias or name for name, field in model.model_fields.items()]


def _keys_at(title: str, loc: tuple) -> list[str]:
    """Keys valid at the parent of `loc`, walking the annotations of the model called `title`."""
    models = [_MODELS[title]] if title in _MODELS else []
    for part in loc[:-1]:
        if isinstance(part, int):
            continue
        step: list[type[BaseModel]] = []
        for model in models:
            for name, field in model.model_fields.items():
                if part in (name, field.alias):
                    step += _models_in(field.annotation)
        models = step or models
    return [key for model in models for key in keys(model)]


def _models_in(annotation: object) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for part in getattr(annotation, "__args__", ()) for model in _models_in(part)]
