"""Public holidays of a country, from the tables of the `holidays` library."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from lumenmap.core.errors import InputError, near
from lumenmap.core.extras import install


def public(name: str, country: str) -> Callable[[int], frozenset[date]]:
    """Return a function that gives a year's public holidays, or those whose name holds ``name``.

    Raises
    ------
    InputError
        No country, one that the library doesn't know, or a holiday that the country doesn't have.
    """
    if not country:
        raise InputError('public holidays need a country: write country = "US" in [almanac]')
    code, _, part = country.partition("-")
    try:
        import holidays
    except ImportError:
        raise InputError(
            f"public holidays need the holidays library: {install('almanac')}"
        ) from None

    def named(year: int) -> dict[date, str]:
        try:
            found = holidays.country_holidays(
                code, subdiv=part or None, years=year, observed=False, language="en_US"
            )
        except NotImplementedError:
            raise InputError(
                f'country is "{country[:20]}"; no public holidays are known for it; '
                "expected an ISO 3166 code such as US, DE or CA-BC"
            ) from None
        return dict(found.items())

    if name:
        known = {
            part.strip()
            for y in (2025, 2026, 2027)
            for n in named(y).values()
            for part in n.split(";")
        }
        if not any(name in k.lower() for k in known):
            hint = near(name, [k.lower() for k in known])
            raise InputError(
                f'no public holiday "{name[:60]}" in {country}{hint or ";"} '
                f"public holidays: {', '.join(sorted(known))}"
            )
    else:
        named(2026)
    return lambda year: frozenset(d for d, n in named(year).items() if name in n.lower())
