"""Smaller and larger of two numbers as single machine instructions.

Python's `min` and `max` compile to a comparison and a choice, and a choice between a new number and the one already in
memory becomes a masked store, which costs ten times an ordinary one. The processor's own minimum does not.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir  # type: ignore[import-untyped]
from numba.core import cgutils, types
from numba.core.errors import RequireLiteralValue
from numba.extending import intrinsic


def _instruction(name: str) -> Any:
    def typed(context: Any, left: Any, right: Any) -> Any:
        def code(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
            number = ir.DoubleType()
            kind = ir.FunctionType(number, [number, number])
            function = builder.module.declare_intrinsic(name, [number], kind)
            return builder.call(function, arguments, fastmath=("fast",))

        return types.float64(types.float64, types.float64), code

    return typed


smaller: Any = intrinsic(_instruction("llvm.minnum"))
"""The smaller of two numbers; inside compiled code only."""

larger: Any = intrinsic(_instruction("llvm.maxnum"))
"""The larger of two numbers; inside compiled code only."""


def _stack_row(context: Any, size: Any) -> Any:
    if not isinstance(size, types.IntegerLiteral):
        raise RequireLiteralValue("size")
    room = ir.ArrayType(ir.DoubleType(), size.literal_value)

    def code(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        place = cgutils.alloca_once(builder, room)  # type: ignore[no-untyped-call]
        return builder.bitcast(place, ir.DoubleType().as_pointer())

    pointer = types.CPointer(types.float64)  # type: ignore[no-untyped-call]
    return pointer(size), code


stack_row: Any = intrinsic(_stack_row)
"""`stack_row(size)`: room for a literal number of numbers on the stack, as a pointer; inside compiled code only.

The compiler knows that nothing else points there, and for a block of one car it keeps the numbers in registers.
"""
