"""Quotes as short as an estimator would say them; used as `from tests.studies.quote import quotes`."""

from typing import Any

from tests import jobs
from tests.jobs import Json

PATH = "/v1/quote"
PART = "/alternatives/0/parts/0"


def spools(*offers: tuple[float, str]) -> Json:
    """Spools of so many metres, and what each costs."""
    kinds = [{"length": jobs.metres(length_m), "amount": amount} for length_m, amount in offers]
    return {"kind": "per-spool", "spools": kinds}


def by_metre(amount: str) -> Json:
    return {"kind": "per-length", "amount": amount, "per": "m"}


def cable(price: Json | None = None, size: int = 12, **more: Any) -> Json:
    priced = {} if price is None else {"price": price}
    return {"id": f"C-{size}", "conductor": f"{size} AWG", "tax": "goods", **priced, **more}


def good(own: str, amount: str | None = "10", **more: Any) -> Json:
    priced = {} if amount is None else {"price": {"amount": amount}}
    return {"id": own, "tax": "goods", **priced, **more}


def accepting(own: str, *combinations: dict[str, int], poles: int = 1, **more: Any) -> Json:
    """A connector for these, each as {"12 AWG": 2}; a size with "~" before it passes uncut."""
    accepts = [
        {
            "conductors": [
                {"conductor": size.removeprefix("~"), "count": number, "uncut": size.startswith("~")}
                for size, number in combination.items()
            ]
        }
        for combination in combinations
    ]
    return good(own, poles=poles, accepts=accepts, **more)


def lamp(at_m: float, watts: float = 4, lead: int | None = 18, **more: Any) -> Json:
    """A lamp with a lead of one metre."""
    leaded = {} if lead is None else {"lead": {"length": jobs.metres(1), "cable": jobs.awg(lead)}}
    return jobs.lamp(at_m, jobs.watts(watts), **leaded, **more)


def wired(*runs: Json, **more: Any) -> Json:
    """A part of runs on a box of 150 VA."""
    return jobs.job(*runs, supply=jobs.transformer(winding=jobs.winding(150, 4)), **more)


def part(at_m: float = 20, **more: Any) -> Json:
    """One run with one lamp."""
    return wired(jobs.run(lamp(at_m, **more), cable=jobs.awg(12)))


def money(prices_are: str = "net", percent: float = 20, **more: Any) -> Json:
    taxes = [{"code": "goods", "percent": percent}, {"code": "work", "percent": 0}]
    return {"currency": "EUR", "prices_are": prices_are, "taxes": taxes, **more}


def quote(*parts: Json, price: Json | None = None, catalogue: Json | None = None, **more: Any) -> Json:
    """A quote of one alternative, with cable alone in its catalogue."""
    goods = {"cables": [cable(price or by_metre("1"))], **(catalogue or {})}
    return {
        "alternatives": [{"id": "a", "parts": list(parts) or [part()]}],
        "catalogue": goods,
        "money": money(),
        **more,
    }
