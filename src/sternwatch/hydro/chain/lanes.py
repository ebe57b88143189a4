"""Several numbers side by side: what a kernel computes for all lanes of a batch at once.

A compiled kernel sees a vector of ``WIDTH`` doubles, which the processor handles in few instructions. Plain Python
sees an array of as many. Every operation works lane by lane, so that no lane's result depends on another's. Where
lanes go different ways a mask selects. The functions take plain numbers as well: one formula serves both.
"""

from __future__ import annotations

import operator
from collections.abc import Callable
from typing import Any, Final

import numpy as np
from llvmlite import ir
from numba.core import cgutils, types
from numba.core.typing.templates import AbstractTemplate, infer_global, signature
from numba.extending import lower_builtin, models, register_model

# Four doubles are a register of most processors. Eight are a fifth faster in a long run of many chains, but one chain
# alone takes twice as long, and a batch of long chains outgrows the nearest cache.
WIDTH: Final = 4

_F64: Final = ir.DoubleType()
_I64: Final = ir.IntType(64)
_VECTOR: Final = ir.VectorType(_F64, WIDTH)
_BITS: Final = ir.VectorType(ir.IntType(1), WIDTH)


class LanesType(types.Type):
    """The compiler's type of ``WIDTH`` doubles."""

    def __init__(self) -> None:
        super().__init__(name=f"Lanes{WIDTH}")


class MaskType(types.Type):
    """The compiler's type of ``WIDTH`` booleans."""

    def __init__(self) -> None:
        super().__init__(name=f"Mask{WIDTH}")


LANES: Final = LanesType()
MASK: Final = MaskType()


@register_model(LanesType)
class _LanesModel(models.PrimitiveModel):
    def __init__(self, manager: Any, of: Any) -> None:
        super().__init__(manager, of, _VECTOR)


@register_model(MaskType)
class _MaskModel(models.PrimitiveModel):
    def __init__(self, manager: Any, of: Any) -> None:
        super().__init__(manager, of, _BITS)


def load(where: Any, at: int) -> Any:
    """The lanes that lie from ``where[at]`` on."""
    return where[at : at + WIDTH].copy()


def store(where: Any, at: int, values: Any) -> None:
    """Put lanes to ``where[at]`` and on."""
    where[at : at + WIDTH] = values


def load_three(where: Any, at: int) -> Any:
    """Three rows of lanes from ``where[at]`` on."""
    return load(where, at), load(where, at + WIDTH), load(where, at + 2 * WIDTH)


def store_three(where: Any, at: int, first: Any, second: Any, third: Any) -> None:
    """Put three rows of lanes to ``where[at]`` and on."""
    where[at : at + 3 * WIDTH] = np.concatenate([first, second, third])


def load_rows(where: Any, rows: Any, size: int, at: int) -> Any:
    """Four lanes: what stands at ``at`` and the three places after it, in row ``rows[lane]`` of ``size`` numbers."""
    flat = where.reshape(-1)
    return tuple(np.array([flat[row * size + at + j] for row in rows[:WIDTH]]) for j in range(4))


def store_rows(where: Any, rows: Any, size: int, at: int, first: Any, second: Any, third: Any) -> None:
    """Put three lanes to ``at`` and the places after it in each lane's row. Of two with one row the first counts."""
    flat = where.reshape(-1)
    for lane in range(WIDTH - 1, -1, -1):
        flat[rows[lane] * size + at : rows[lane] * size + at + 3] = first[lane], second[lane], third[lane]


def aligned(where: Any) -> int:
    """The first place of an array at which lanes lie in one line of the processor's cache."""
    return int(-(where.ctypes.data // 8) % WIDTH)


def lanes(value: float) -> Any:
    """The same number in every lane."""
    return np.full(WIDTH, value)


def select(mask: Any, yes: Any, no: Any) -> Any:
    """``yes`` where the mask is set, else ``no``."""
    return np.where(mask, yes, no) if isinstance(mask, np.ndarray) else yes if mask else no


def any_of(mask: Any) -> bool:
    """Whether the mask is set in any lane."""
    return bool(np.any(mask))


def root(value: Any) -> Any:
    """The square root."""
    return np.sqrt(value)


def size_of(value: Any) -> Any:
    """The absolute value."""
    return np.abs(value)


def floor(value: Any) -> Any:
    """The largest whole number that is not above the value."""
    return np.floor(value)


def larger(a: Any, b: Any) -> Any:
    """The larger of two; the second where one is no number."""
    return select(a > b, a, b)


def smaller(a: Any, b: Any) -> Any:
    """The smaller of two; the second where one is no number."""
    return select(a < b, a, b)


def pick(table: Any, at: Any, column: int) -> Any:
    """``table[at, column]`` for whole ``at`` of any lane; ``table`` is (k, columns)."""
    return table[np.asarray(at, dtype=np.int64), column]


# What the compiler makes of each: its type by those of the arguments, then its code.

_I32: Final = ir.IntType(32)
_TYPES: Final = {LANES: _VECTOR, MASK: _BITS, types.float64: _F64}


def _number(of: Any) -> bool:
    return isinstance(of, types.Float | types.Integer)


def _lanes_or_number(*of: Any) -> Any:
    """The type of what is computed from these: lanes where any are lanes; None where that is not for us."""
    if not all(one == LANES or _number(one) for one in of):
        return None
    return LANES if LANES in of else types.float64


def _as(context: Any, builder: Any, value: Any, of: Any, into: Any) -> Any:
    """A value of one type as another: a number stands in every lane."""
    if of == into:
        return value
    if into == types.float64:
        return context.cast(builder, value, of, into)
    if into == MASK:
        value = builder.trunc(value, ir.IntType(1)) if value.type.width > 1 else value
    else:
        value = context.cast(builder, value, of, types.float64)
    nothing = ir.Constant(_TYPES[into], ir.Undefined)
    one = builder.insert_element(nothing, value, _I32(0))
    return builder.shuffle_vector(one, nothing, ir.Constant(ir.VectorType(_I32, WIDTH), [0] * WIDTH))


def _compiled(of: Any, result: Callable[..., Any], *kinds: Any) -> Callable[[Any], Any]:
    """Have ``of`` compiled by the decorated function for arguments of these kinds."""

    def register(lower: Any) -> Any:
        @infer_global(of)
        class _Typed(AbstractTemplate):
            key = of

            def generic(self, args: Any, kws: Any) -> Any:
                made = result(*args) if not kws and len(args) == len(kinds) else None
                return None if made is None else signature(made, *args)

        return lower_builtin(of, *kinds)(lower)

    return register


def _arithmetic(of: Any, emit: Any, *, compares: bool = False) -> None:
    def typed(a: Any, b: Any) -> Any:
        return (MASK if compares else LANES) if _lanes_or_number(a, b) == LANES else None

    def lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return emit(builder, *(_as(context, builder, v, t, LANES) for v, t in zip(args, sig.args, strict=True)))

    _compiled(of, typed, LanesType, LanesType)(lower)
    lower_builtin(of, LanesType, types.Number)(lower)
    lower_builtin(of, types.Number, LanesType)(lower)


# (Multiplications and additions may be contracted, as in every kernel.)
_FUSED: Final = ("contract",)
_arithmetic(operator.add, lambda builder, a, b: builder.fadd(a, b, flags=_FUSED))
_arithmetic(operator.sub, lambda builder, a, b: builder.fsub(a, b, flags=_FUSED))
_arithmetic(operator.mul, lambda builder, a, b: builder.fmul(a, b, flags=_FUSED))
_arithmetic(operator.truediv, lambda builder, a, b: builder.fdiv(a, b))
_arithmetic(operator.lt, lambda builder, a, b: builder.fcmp_ordered("<", a, b), compares=True)
_arithmetic(operator.le, lambda builder, a, b: builder.fcmp_ordered("<=", a, b), compares=True)
_arithmetic(operator.gt, lambda builder, a, b: builder.fcmp_ordered(">", a, b), compares=True)
_arithmetic(operator.ge, lambda builder, a, b: builder.fcmp_ordered(">=", a, b), compares=True)


@_compiled(operator.neg, lambda of: LANES if of == LANES else None, LanesType)
def _neg(_context: Any, builder: Any, _sig: Any, args: Any) -> Any:
    return builder.fneg(args[0])


@_compiled(operator.invert, lambda of: MASK if of == MASK else None, MaskType)
def _invert(_context: Any, builder: Any, _sig: Any, args: Any) -> Any:
    return builder.not_(args[0])


def _logic(of: Any, emit: Any) -> None:
    def typed(a: Any, b: Any) -> Any:
        return MASK if MASK in (a, b) and {a, b} <= {MASK, types.boolean} else None

    def lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        return emit(builder, *(_as(context, builder, v, t, MASK) for v, t in zip(args, sig.args, strict=True)))

    _compiled(of, typed, MaskType, MaskType)(lower)
    lower_builtin(of, MaskType, types.Boolean)(lower)
    lower_builtin(of, types.Boolean, MaskType)(lower)


_logic(operator.and_, lambda builder, a, b: builder.and_(a, b))
_logic(operator.or_, lambda builder, a, b: builder.or_(a, b))


def _places(context: Any, builder: Any, sig: Any, args: Any, rows: int) -> list[Any]:
    """Pointers to rows of lanes from ``args[0][args[1]]`` on."""
    data = context.make_array(sig.args[0])(context, builder, args[0]).data
    at = context.cast(builder, args[1], sig.args[1], types.intp)
    first = builder.bitcast(builder.gep(data, [at]), _VECTOR.as_pointer())
    return [builder.gep(first, [_I64(row)]) for row in range(rows)]


@_compiled(load, lambda *_: LANES, types.Array, types.Integer)
def _load(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    return builder.load(_places(context, builder, sig, args, 1)[0], align=8)


@_compiled(load_three, lambda *_: types.UniTuple(LANES, 3), types.Array, types.Integer)
def _load_three(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    rows = [builder.load(place, align=8) for place in _places(context, builder, sig, args, 3)]
    return context.make_tuple(builder, sig.return_type, rows)


def _store(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    values = list(zip(args[2:], sig.args[2:], strict=True))
    for place, (value, of) in zip(_places(context, builder, sig, args, len(values)), values, strict=True):
        builder.store(_as(context, builder, value, of, LANES), place, align=8)
    return context.get_dummy_value()


_compiled(store, lambda *_: types.none, types.Array, types.Integer, types.Any)(_store)
_compiled(store_three, lambda *_: types.none, types.Array, types.Integer, *[types.Any] * 3)(_store)


def _turned(builder: Any, rows: Any) -> list[Any]:
    """Vectors as the columns of others; the compiler makes moves within registers of it."""
    columns = []
    for j in range(rows[0].type.count):
        made = ir.Constant(ir.VectorType(_F64, len(rows)), ir.Undefined)
        for lane, row in enumerate(rows):
            made = builder.insert_element(made, builder.extract_element(row, _I32(j)), _I32(lane))
        columns.append(made)
    return columns


def _row_places(context: Any, builder: Any, sig: Any, args: Any, columns: int) -> list[Any]:
    """Pointers to some numbers of each lane's row."""
    data, rows = (context.make_array(sig.args[i])(context, builder, args[i]).data for i in (0, 1))
    size, at = (context.cast(builder, args[i], sig.args[i], types.intp) for i in (2, 3))
    kind = ir.VectorType(_F64, columns).as_pointer()
    found = []
    for lane in range(WIDTH):
        row = builder.load(builder.gep(rows, [_I64(lane)]))
        found.append(builder.bitcast(builder.gep(data, [builder.add(builder.mul(row, size), at)]), kind))
    return found


@_compiled(load_rows, lambda *_: types.UniTuple(LANES, 4), types.Array, types.Array, types.Integer, types.Integer)
def _load_rows(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    rows = [builder.load(place, align=8) for place in _row_places(context, builder, sig, args, 4)]
    return context.make_tuple(builder, sig.return_type, _turned(builder, rows))


@_compiled(
    store_rows, lambda *_: types.none, types.Array, types.Array, types.Integer, types.Integer, *[types.Any] * 3
)
def _store_rows(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    places = _row_places(context, builder, sig, args, 3)
    for place, row in reversed(list(zip(places, _turned(builder, args[4:]), strict=True))):
        builder.store(row, place, align=8)
    return context.get_dummy_value()


@_compiled(aligned, lambda *_: types.intp, types.Array)
def _aligned(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    data = context.make_array(sig.args[0])(context, builder, args[0]).data
    place = builder.lshr(builder.ptrtoint(data, _I64), _I64(3))
    return builder.and_(builder.sub(_I64(0), place), _I64(WIDTH - 1))


@_compiled(lanes, lambda *_: LANES, types.Any)
def _lanes(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    return _as(context, builder, args[0], sig.args[0], LANES)


def _selected(mask: Any, yes: Any, no: Any) -> Any:
    made = _lanes_or_number(yes, no)
    return LANES if mask == MASK and made is not None else made


@_compiled(select, _selected, types.Any, types.Any, types.Any)
def _select(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    mask, of = args[0], sig.return_type
    if sig.args[0] != MASK:
        mask = builder.trunc(mask, ir.IntType(1)) if mask.type.width > 1 else mask
    yes, no = (_as(context, builder, v, t, of) for v, t in zip(args[1:], sig.args[1:], strict=True))
    return builder.select(mask, yes, no)


@_compiled(any_of, lambda of: types.boolean if of in (MASK, types.boolean) else None, types.Any)
def _any_of(_context: Any, builder: Any, sig: Any, args: Any) -> Any:
    if sig.args[0] != MASK:
        return args[0]
    bits = ir.IntType(WIDTH)
    return builder.icmp_unsigned("!=", builder.bitcast(args[0], bits), bits(0))


def _function(of: Any, name: str) -> None:
    def lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        value = _as(context, builder, args[0], sig.args[0], sig.return_type)
        kind = f"v{WIDTH}f64" if sig.return_type == LANES else "f64"
        own = ir.FunctionType(value.type, [value.type])
        return builder.call(cgutils.get_or_insert_function(builder.module, own, f"llvm.{name}.{kind}"), [value])

    _compiled(of, _lanes_or_number, types.Any)(lower)


_function(root, "sqrt")
_function(size_of, "fabs")
_function(floor, "floor")


def _choice(of: Any, sign: str) -> None:
    def lower(context: Any, builder: Any, sig: Any, args: Any) -> Any:
        a, b = (_as(context, builder, v, t, sig.return_type) for v, t in zip(args, sig.args, strict=True))
        return builder.select(builder.fcmp_ordered(sign, a, b), a, b)

    _compiled(of, _lanes_or_number, types.Any, types.Any)(lower)


_choice(larger, ">")
_choice(smaller, "<")


@_compiled(pick, lambda _table, at, _column: _lanes_or_number(at), types.Array, types.Any, types.Integer)
def _pick(context: Any, builder: Any, sig: Any, args: Any) -> Any:
    table = context.make_array(sig.args[0])(context, builder, args[0])
    columns = cgutils.unpack_tuple(builder, table.shape)[1]
    column = context.cast(builder, args[2], sig.args[2], types.intp)

    def read(at: Any) -> Any:
        place = builder.add(builder.mul(builder.fptosi(at, _I64), columns), column)
        return builder.load(builder.gep(table.data, [place]))

    if sig.return_type != LANES:
        return read(_as(context, builder, args[1], sig.args[1], types.float64))
    made = ir.Constant(_VECTOR, ir.Undefined)
    for lane in range(WIDTH):
        made = builder.insert_element(made, read(builder.extract_element(args[1], _I32(lane))), _I32(lane))
    return made
