"""Equations as people write them: one text is shown and computed with."""

from __future__ import annotations

import ast
import math
import operator
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

_SIGNS = str.maketrans({"×": "*", "−": "-"})

_OPERATORS: Mapping[type, Callable[..., float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.USub: operator.neg,
}

_FUNCTIONS: Mapping[str, Callable[..., float]] = {
    "sqrt": math.sqrt,
    "exp": math.exp,
    "ln": math.log,
    "max": max,
    "min": min,
    "power": math.pow,
}


def evaluate(equation: str, figures: Mapping[str, float]) -> float:
    """Return what the right side of an equation comes to.

    Parameters
    ----------
    equation : str
        With ``+ − × /``, parentheses, and the functions sqrt, exp, ln, max, min and power.
    figures : mapping of str to float
        What its symbols stand for.

    Returns
    -------
    float
        NaN where it has no value, such as the root of a negative number.

    Examples
    --------
    >>> evaluate("Na / sqrt((Ca + Mg) / 2)", {"Na": 4.0, "Ca": 5.0, "Mg": 3.0})
    2.0
    """
    try:
        return float(_value(_tree(equation), figures))
    except (ZeroDivisionError, ValueError, OverflowError):
        return math.nan


@cache
def _tree(equation: str) -> ast.expr:
    return ast.parse(equation.translate(_SIGNS), mode="eval").body


def _value(node: ast.expr, figures: Mapping[str, float]) -> Any:
    match node:
        case ast.Constant(value=figure):
            return figure
        case ast.Name(id=symbol):
            return figures[symbol]
        case ast.UnaryOp(op=sign, operand=inner):
            return _OPERATORS[type(sign)](_value(inner, figures))
        case ast.BinOp(left=left, op=sign, right=right):
            return _OPERATORS[type(sign)](_value(left, figures), _value(right, figures))
        case ast.Call(func=ast.Name(id=name), args=arguments):
            return _FUNCTIONS[name](*(_value(each, figures) for each in arguments))
    raise KeyError(f"no equation: {ast.unparse(node)}")
