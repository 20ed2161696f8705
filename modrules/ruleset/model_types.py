"""What the models of a ruleset are made of: texts that know their place, names, days, choices.

Importing this module imports pydantic; do so when a ruleset is loaded.
"""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Any, Final

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    InstanceOf,
    PlainSerializer,
    WithJsonSchema,
)
from pydantic_core import core_schema

from modrules.ruleset.tree import Scalar
from modrules.ruleset.words import COUNT, DOTTED_NAME, HYPHEN_NAME, SNAKE_NAME

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_LAYOUT = re.compile(r'("[^"]*")|\s+')
_YES_NO: Final = {"true": True, "yes": True, "false": False, "no": False}


def _named(pattern: re.Pattern[str]) -> Any:
    def check(value: Scalar) -> Scalar:
        if not pattern.fullmatch(value):
            raise ValueError(f"`{value}` is no name of the right form")
        return value

    return AfterValidator(check)


def _one_of(words: tuple[str, ...]) -> Any:
    known = frozenset(words)

    def check(value: Scalar) -> Scalar:
        if value not in known:
            raise ValueError(f"`{value}` is none of the words allowed here")
        return value

    return AfterValidator(check)


def _flag(value: object) -> bool:
    if isinstance(value, Scalar) and not value.quoted and value in _YES_NO:
        return _YES_NO[value]
    raise ValueError("this must be true or false")


def _count(value: object) -> int:
    if isinstance(value, int) and not isinstance(value, bool) and 0 < value < 1000:
        return value
    if isinstance(value, Scalar) and COUNT.fullmatch(value):
        return int(value)
    raise ValueError("this must be a whole number from 1 to 999")


def _day(value: object) -> date:
    if isinstance(value, date):
        return value
    if isinstance(value, Scalar) and _DATE.fullmatch(value):
        try:
            return date.fromisoformat(value)
        except ValueError:
            raise ValueError(f"there is no date {value}") from None
    raise ValueError("this must be a date, YYYY-MM-DD")


class OneOrList:
    """Marks a tuple that may be written as one value where it has but one."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        return core_schema.no_info_before_validator_function(
            lambda value: value if isinstance(value, list) else [value], handler(source)
        )

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        several = handler(schema)
        return {"anyOf": [several["items"], several]}


def _squeezed(value: Scalar) -> str:
    """An expression without what is only layout; texts within it keep their blanks."""
    if "\n" not in value and "  " not in value:
        return value
    return _LAYOUT.sub(lambda found: found[1] or " ", value).strip()


def _json(**schema: Any) -> Any:
    return WithJsonSchema(schema)


def _name_json(pattern: re.Pattern[str]) -> Any:
    return _json(type="string", pattern=f"^{pattern.pattern}$")


#: A text for people.
Prose = Annotated[InstanceOf[Scalar], _json(type="string")]
#: A text that YAML may well read as a number: an edition, a clause.
Label = Annotated[InstanceOf[Scalar], _json(type=["string", "number"])]
#: A cell of a table.
Cell = Annotated[InstanceOf[Scalar], _json(type=["string", "number", "boolean"])]
#: An expression of the language, or a literal of it.
Expression = Annotated[
    InstanceOf[Scalar],
    PlainSerializer(_squeezed, return_type=str),
    _json(type=["string", "number", "boolean"]),
]
SnakeName = Annotated[InstanceOf[Scalar], _named(SNAKE_NAME), _name_json(SNAKE_NAME)]
DottedName = Annotated[InstanceOf[Scalar], _named(DOTTED_NAME), _name_json(DOTTED_NAME)]
HyphenName = Annotated[InstanceOf[Scalar], _named(HYPHEN_NAME), _name_json(HYPHEN_NAME)]
Flag = Annotated[bool, BeforeValidator(_flag), _json(type="boolean")]
Count = Annotated[
    int, BeforeValidator(_count), _json(type=["string", "number"], pattern=f"^{COUNT.pattern}$")
]
Day = Annotated[
    date, BeforeValidator(_day), _json(type="string", format="date", pattern=f"^{_DATE.pattern}$")
]


def choice(words: tuple[str, ...]) -> Any:
    return Annotated[InstanceOf[Scalar], _one_of(words), _json(type="string", enum=list(words))]


def needed(description: str, **more: Any) -> Any:
    return Field(description=description, **more)


def maybe(description: str, **more: Any) -> Any:
    return Field(default=None, description=description, **more)


def many(description: str, **more: Any) -> Any:
    return Field(default=(), description=description, **more)
