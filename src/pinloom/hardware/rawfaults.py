"""Which values of a format file are not of their fields' types, all of them, in words.

The strict models are made from the records of ``raw``, so that a field is named once.
"""

from dataclasses import MISSING, dataclass, fields, is_dataclass
from decimal import Decimal
from functools import cache
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    ValidationError,
    ValidationInfo,
    create_model,
)
from pydantic_core import PydanticCustomError

from pinloom.core.hardware import Provenance
from pinloom.core.lengths import InexactLengthError, Nanometres
from pinloom.hardware.raw import READERS, RawFormat, RawTable, unit_of


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueFault:
    """One value that cannot be taken. ``where`` = its fields and, in lists, its items from 0."""

    where: tuple[int | str, ...]
    value: object
    reason: str
    unknown: bool  # no field of a format file has this name


def faults_of(tables: RawTable) -> tuple[ValueFault, ...]:
    """Every fault of type in the tables of a file."""
    try:
        _model(RawFormat).model_validate(tables, context=unit_of(tables))
    except ValidationError as error:
        return tuple(
            ValueFault(
                where=found["loc"],
                value=found["input"],
                reason=found["msg"],
                unknown=found["type"] == "extra_forbidden",
            )
            for found in error.errors(include_url=False)
        )
    return ()


def _to_length(value: object, info: ValidationInfo) -> Nanometres:
    if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
        raise PydanticCustomError("length", "it is not a length")
    try:
        return READERS[info.context or "inch"](str(value))
    except InexactLengthError as error:
        raise PydanticCustomError("length", "{why}", {"why": str(error)}) from error


def _to_provenance(value: object) -> object:
    return Provenance(value) if value in [one.value for one in Provenance] else value


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


@cache
def _model(kind: type) -> type[_Table]:
    """The strict model of a record of ``raw``."""
    hints = get_type_hints(kind, include_extras=True)
    given: dict[str, Any] = {}
    for one in fields(kind):
        default = ... if one.default is MISSING else one.default
        if one.default_factory is not MISSING:
            default = one.default_factory()
        given[one.name] = (_strict(hints[one.name]), default)
    return create_model(kind.__name__, __base__=_Table, **given)


def _strict(hint: Any) -> Any:
    origin, inner = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        return Union[tuple(_strict(one) for one in inner)]  # noqa: UP007 (built from parts)
    if origin is list:
        return list[_strict(inner[0])]  # type: ignore[misc]
    if origin is Annotated:
        return Annotated[Nanometres, BeforeValidator(_to_length)]
    if hint is Provenance:
        return Annotated[Provenance, BeforeValidator(_to_provenance)]
    if is_dataclass(hint) and isinstance(hint, type):
        return _model(hint)
    return hint
