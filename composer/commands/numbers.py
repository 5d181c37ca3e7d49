"""Numbers and days as options take them, told in words that need no mathematics to read."""

import datetime
from math import isfinite
from typing import Any

import click


def _from_to(low: object, high: object) -> str:
    """``"0.6 to 2.5"``, ``"1 or more"``; empty where there are no bounds."""
    if high is None:
        return "" if low is None else f"{low} or more"
    return f"{low} to {high}"


class Number(click.FloatRange):
    """A finite number in a range; unlike its parent it refuses "nan"."""

    name = "number"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        number = float(super().convert(value, param, ctx))
        if not isfinite(number):
            self.fail(f"{value} is no number", param, ctx)
        return number

    def _describe_range(self) -> str:
        return _from_to(self.min, self.max)


class Whole(click.IntRange):
    """A whole number in a range."""

    name = "whole number"

    def _describe_range(self) -> str:
        return _from_to(self.min, self.max)


class Day(click.ParamType):  # type: ignore[type-arg]
    """A day such as 2027-06-19."""

    name = "yyyy-mm-dd"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> datetime.date:
        try:
            return datetime.date.fromisoformat(str(value).strip())
        except ValueError:
            self.fail(f'a day is written like 2027-06-19, not "{value}"', param, ctx)
