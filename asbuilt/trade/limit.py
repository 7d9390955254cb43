"""A figure somebody published, and words for how another figure stands to it.

Nothing here passes judgement on an installation: it says what was compared with what.
"""

from dataclasses import dataclass

_ROUNDING = 1e-9  # what is left of a sum of decimals, not a difference anybody measured


@dataclass(frozen=True, slots=True)
class Limit:
    """At most (or, with `least`, at least) `value` `unit` of `what`, as `source` has it."""

    what: str
    value: float
    unit: str
    source: str
    is_minimum: bool = False

    def margin(self, figure: float) -> float:
        """How far a figure keeps away from the limit; below zero it is past it."""
        return figure - self.value if self.is_minimum else self.value - figure

    def is_met_by(self, figure: float) -> bool:
        return self.margin(figure) >= -_ROUNDING

    def comparison_text(self, figure: float) -> str:
        """`88.3 m: within the 90 m of ANSI/TIA-568.2-D for the permanent link`."""
        of = f"the {_figure_text(self.value, self.unit)} of {self.source} for {self.what}"
        shown = _figure_text(figure, self.unit)
        if self.is_met_by(figure):
            return f"{shown}: within {of}"
        past = "under" if self.is_minimum else "over"
        return f"{shown}: {_figure_text(-self.margin(figure), self.unit)} {past} {of}"


def _figure_text(value: float, unit: str) -> str:
    return f"{round(value, 3):g} {unit}" if unit else f"{round(value, 3):g}"
