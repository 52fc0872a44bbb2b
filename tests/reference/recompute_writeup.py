"""Recomputes the results of a write-up from its data package alone, with numpy and scipy, and holds them against the printed ones.

    recompute_writeup.py FOLDER [--expect FILE]

FOLDER holds the CSV files of a package. Nothing but readings, conditions and what the package says of its rules is used: energy
means, the background rule, level differences, changes on the positions both sets have, their scatter and what is pooled,
uncertainty, intervals and claims; runs on a bench; the factor of a surface temperature; sums of money. FILE holds numbers known
from elsewhere: level differences by set and changes by name, to a tenth. Ends with 1 where a number differs.

Sources: ISO 16283-1:2014 for energy means; ISO 16283-1 clause 9.2 and ASTM E336 before and from 19a for the background; JCGM
100:2008 (GUM) clauses 5.1.2 and G.4.1 for joining uncertainties; Welch 1947 for two means; Student's t from scipy. Limits of
claims, and what setting up again and another day add, are rules of the program, read from its README and its table `budget`.
"""

import argparse
import collections
import csv
import json
import math
import pathlib
import sys
import warnings

import numpy as np
from scipy import stats

EXACT = 1e-9
# Where a quantile of Student's t enters.
QUANTILE = 1e-6
PER_POWER = 10 / math.log(10)
SMALLEST_CLAIM_DB, SMALLEST_APART_DB, REPEAT_FACTOR = 2.0, 1.0, 3.0
# A margin this close to a limit counts as that limit.
LIMIT_DB = 1e-6


def number(text):
    return None if text == "" else float(text)


class Package:
    def __init__(self, folder):
        self.folder = pathlib.Path(folder)

    def table(self, name):
        path = self.folder / f"{name}.csv"
        if not path.exists():
            return []
        with open(path, encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file, strict=True))


class Checks:
    """Compares, and keeps the table of what was compared."""

    def __init__(self):
        self.rows = []
        self.used = collections.Counter()

    def hold(self, what, name, got, printed, tolerance=EXACT):
        printed = number(printed) if isinstance(printed, str) else printed
        if got is None or printed is None:
            is_same = got is None and printed is None
        else:
            is_same = abs(got - printed) <= tolerance * max(1.0, abs(printed))
        self.note(what, name, got, printed, is_same)

    def same(self, what, name, got, printed):
        self.note(what, name, got, printed, got == printed)

    def note(self, what, name, got, printed, is_same):
        self.used[what] += 1
        self.rows.append((what, name, got, printed, is_same))

    def report(self):
        def shown(value):
            return "-" if value is None or value == "" else f"{value:.10g}" if isinstance(value, float) else str(value)

        for what, name, got, printed, is_same in self.rows:
            print(f"{'ok    ' if is_same else 'DIFFER'}  {what:28}  {name:24}  {shown(got):>18}  {shown(printed):>18}")
        wrong = sum(not row[4] for row in self.rows)
        print(f"{len(self.rows)} numbers of {len(self.used)} kinds recomputed, {wrong} differ")
        return wrong


# --- levels ----------------------------------------------------------------------------------------------------------


def energy_mean(levels):
    return 10 * math.log10(np.mean(np.power(10.0, np.asarray(levels) / 10)))


def less_energy(level, noise):
    return 10 * math.log10(10 ** (level / 10) - 10 ** (noise / 10))


def regime(rule, margin):
    if rule == "iso16283":
        return "clear" if margin >= 10 - LIMIT_DB else "corrected" if margin > 6 + LIMIT_DB else "limit"
    if rule == "astm_e336":
        return "clear" if margin >= 10 - LIMIT_DB else "corrected" if margin >= 5 - LIMIT_DB else "limit"
    assert rule == "astm_e336_19a", rule
    return "corrected" if margin >= 6 - LIMIT_DB else "limit"


TAKEN_OFF = {"iso16283": 1.3, "astm_e336": 2.0, "astm_e336_19a": 1.26}


def corrected(rule, level, noise):
    """Level after the rule, and which part of the rule applied; `None` where the noise was not measured."""
    if noise is None:
        return level, None
    part = regime(rule, level - noise)
    if part == "clear":
        return level, part
    return (less_energy(level, noise) if part == "corrected" else level - TAKEN_OFF[rule]), part


class Set:
    """The levels of one set, from its readings."""

    def __init__(self, readings, rule):
        self.rule = rule
        levels = [one for one in readings if one["counted"] == "true" and one["subject"] != "reverberation"]
        self.runs = [float(one["value"]) for one in levels if one["role"] == "direct" and one["unit"] == "dB"]
        places = collections.defaultdict(lambda: collections.defaultdict(list))
        for one in [] if self.runs else levels:
            places[one["role"]][one["position"]].append(float(one["value"]))
        mean = {role: {place: energy_mean(values) for place, values in of.items()} for role, of in places.items()}
        self.source, self.receive = mean.get("source", {}), mean.get("receive", {})
        noise = [float(one["value"]) for one in levels if one["role"] == "background" and not self.runs]
        self.noise = max(noise, default=None)
        self.units = {one["unit"] for one in levels if one["role"] in ("source", "receive", "background")}
        # Digits behind the point as typed tell the step of the meter.
        self.places = max((len(one["value"].partition(".")[2]) for one in readings if one["struck"] == "false" and one["value"]), default=0)

    def source_mean(self):
        return energy_mean(list(self.source.values())) if self.source else None

    def on(self, places):
        """Receive levels at positions, so that their energy mean is the corrected one, and how they stand."""
        levels = [self.receive[place] for place in places]
        mean = energy_mean(levels)
        after, part = corrected(self.rule, mean, self.noise)
        if part == "corrected" and all(level > self.noise for level in levels):
            return [less_energy(level, self.noise) for level in levels], part
        return [level - (mean - after) for level in levels], part


def minus(first, second):
    """How a difference stands, from how its two terms do; `second` is taken off."""
    turned = {"at-least": "at-most", "at-most": "at-least"}.get(second, second)
    if "exact" in (first, turned):
        return turned if first == "exact" else first
    return first if first == turned else "undetermined"


def bound_of(part):
    """How a level difference stands, from what the rule did with the receiving level."""
    return "at-least" if part == "limit" else "exact"


def sets(package, checks):
    rules = {test["test"]: test["background_rule"] for test in package.table("tests")}
    by_set = collections.defaultdict(list)
    for reading in package.table("readings"):
        by_set[reading["set"]].append(reading)
    found = {one["set"]: Set(by_set[one["set"]], rules[one["test"]]) for one in package.table("sets")}
    for row in package.table("set-results"):
        one, name = found[row["set"]], row["set"]
        if one.runs:
            checks.hold("level difference, runs", name, float(np.mean(one.runs)), row["level_difference_db"])
            continue
        if row["absent"].startswith("readings of differing"):
            checks.same("differing weightings", name, len(one.units) > 1, True)
            continue
        checks.hold("source mean", name, one.source_mean(), row["source_mean_db"])
        checks.hold("background", name, one.noise, row["background_db"])
        if not one.receive:
            continue
        mean = energy_mean(list(one.receive.values()))
        after, part = corrected(one.rule, mean, one.noise)
        checks.hold("receive mean", name, mean, row["receive_mean_db"])
        checks.hold("margin", name, None if one.noise is None else mean - one.noise, row["margin_db"])
        checks.same("regime", name, part or "", row["regime"])
        checks.hold("corrected receive mean", name, after, row["corrected_receive_db"])
        if one.source:
            checks.hold("level difference", name, one.source_mean() - after, row["level_difference_db"])
            checks.same("bound", name, bound_of(part), row["bound"])
    return found


# --- changes ---------------------------------------------------------------------------------------------------------


class Compared:
    """Two sets on the receive positions both have, or run by run."""

    def __init__(self, first, second):
        self.of_runs = bool(first.runs and second.runs)
        if self.of_runs:
            self.before, self.after = float(np.mean(first.runs)), float(np.mean(second.runs))
            self.change, self.n = self.after - self.before, (len(first.runs), len(second.runs))
            self.receive_only, self.bound, self.sd, self.position_mean = False, "exact", None, None
            self.runs = (first.runs, second.runs)
            return
        shared = [place for place in first.receive if place and place in second.receive]
        self.n = len(shared)
        self.receive_only = not (first.source and second.source)
        (before, part_before), (after, part_after) = first.on(shared), second.on(shared)
        if not self.receive_only:
            before = [level - first.source_mean() for level in before]
            after = [level - second.source_mean() for level in after]
        before, after = np.array(before), np.array(after)
        self.before, self.after = -energy_mean(before), -energy_mean(after)
        self.change = self.after - self.before
        self.bound = minus(bound_of(part_after), bound_of(part_before))
        self.position_mean = float(np.mean(before - after))
        power = [np.power(10.0, levels / 10) for levels in (before, after)]
        influence = PER_POWER * (power[0] / np.mean(power[0]) - power[1] / np.mean(power[1]))
        self.sd = float(np.std(influence, ddof=1)) if self.n > 1 else None


def step_of(first, second):
    return 10.0 ** -max(first.places, second.places)


def pooled_spreads(package):
    """Standard deviation and degrees of freedom by kind and weighting."""
    rows = collections.defaultdict(list)
    for row in package.table("pooled-spreads"):
        rows[row["spread"], row["weighting"]].append((int(row["n"]) - 1, float(row["sd_db"])))
    found = {}
    for key, parts in rows.items():
        dof = sum(part[0] for part in parts)
        found[key] = (math.sqrt(sum(part[0] * part[1] ** 2 for part in parts) / dof), dof)
    return found


def repeats_of(package, spreads):
    """Own repeats by weighting; nothing where none of them differ."""
    return {weighting: found for (spread, weighting), found in spreads.items() if spread.startswith("own") and found[0] > 0}


def joined(terms):
    """Standard uncertainty and degrees of freedom of uncorrelated terms; GUM 5.1.2 and G.4.1."""
    variance = sum(u * u for u, _ in terms)
    doubt = sum(u**4 / dof for u, dof in terms if math.isfinite(dof))
    return math.sqrt(variance), variance**2 / doubt if doubt > 0 else math.inf


def quantile(dof):
    return float(stats.norm.ppf(0.975) if math.isinf(dof) else stats.t.ppf(0.975, dof))


def scatter_terms(compared, pooled, step):
    """Terms of the scatter of one change, whether it is pooled, and its own interval's half; nothing where it is not known."""
    if compared.of_runs:
        first, second = compared.runs
        # One run has no spread, and equal ones have none to build an interval on.
        if min(len(first), len(second)) < 2 or np.std(first) + np.std(second) == 0:
            return [], False, None
        u, dof = joined([(np.std(runs, ddof=1) / math.sqrt(len(runs)), len(runs) - 1) for runs in compared.runs])
        terms = [(u, dof)] + ([(step / math.sqrt(6), math.inf)] if u < step else [])
        return terms, False, quantile(dof) * u
    n = compared.n
    own = quantile(n - 1) * compared.sd / math.sqrt(n) if n > 1 else None
    if pooled:
        sd, dof = pooled
    elif n > 1:
        sd, dof = compared.sd, n - 1
    else:
        return [], False, None
    terms = [(sd / math.sqrt(n), dof)] + ([(step / math.sqrt(6), math.inf)] if sd < step else [])
    return terms, bool(pooled), own


# Rules of the program, printed in the table `budget` as such.
CONVENTIONS = {"setting up again": 0.4, "another day": 0.3}


def around_terms(compared, repeats, same_day):
    if compared.of_runs:
        names = ["setting up again"] if same_day else ["setting up again", "another day"]
    elif repeats:
        return {"the crew's own repeats": (repeats[0] * math.sqrt(2), repeats[1])}
    else:
        names = ["setting up again", "another day"]
    return {name: (CONVENTIONS[name], math.inf) for name in names}


def interval(value, terms, own_half):
    u, dof = joined(terms)
    half = quantile(dof) * u
    if own_half:
        half = max(half, own_half)
    return u, dof, value - half, value + half


def claim(value, bound, low, high, limit, doubts):
    """The verdict in a word. What a person still has to look at cannot be recomputed from numbers: it is taken as printed."""
    if value is None or bound == "undetermined":
        return "undetermined"
    if bound == "at-most":
        return "no claim" if doubts else "at most"
    size = value if bound == "at-least" else abs(value)
    is_clear = low is not None and (low > 0 or high < 0)
    if size < limit or not is_clear or doubts:
        return "no claim"
    return "at least" if bound == "at-least" else "claimed"


# Reasons that numbers do not show.
DOUBTS = ("a position is far", "the untouched wall", "the set called before")


def changes(package, found, checks):
    spreads = pooled_spreads(package)
    repeats = repeats_of(package, spreads)
    days = {one["set"]: one["day"] for one in package.table("sets")}
    budget = collections.defaultdict(list)
    for row in package.table("budget"):
        budget[row["change"], row["of"]].append(row)
    for row in package.table("changes"):
        if row["change_db"] == "":
            checks.same("no change, with its reason", row["change"], row["absent"] != "", True)
            continue
        one_change(row, found, days, spreads, repeats, budget, checks)


def one_change(row, found, days, spreads, repeats, budget, checks):
    name, weighting = row["change"], row["weighting"]
    first, second = found[row["from"]], found[row["to"]]
    compared = Compared(first, second)
    checks.hold("change", name, compared.change, row["change_db"])
    checks.same("bound of a change", name, compared.bound, row["bound"])
    checks.hold("change on the mean of positions", name, compared.position_mean, row["position_mean_db"])
    checks.hold("scatter", name, compared.sd, row["scatter_db"])
    if not compared.receive_only:
        checks.hold("before, on what both have", name, compared.before, row["before_db"])
        checks.hold("after, on what both have", name, compared.after, row["after_db"])
    same_day = days[row["from"]] != "" and days[row["from"]] == days[row["to"]]
    pooled = None if compared.of_runs else spreads.get(("position scatter", weighting))
    scatter, is_pooled, own_half = scatter_terms(compared, pooled, step_of(first, second))
    around = around_terms(compared, repeats.get(weighting), same_day)
    terms = scatter + list(around.values())
    checks.same("pooled", name, "true" if is_pooled else "false", row["pooled"])
    printed = budget[name, "change"]
    checks.same("terms of the budget", name, len(terms), len(printed))
    for place, (term, told) in enumerate(zip(terms, printed), start=1):
        checks.hold("term of the budget", f"{name} {place}", term[0], told["u_db"])
        checks.hold("degrees of freedom of a term", f"{name} {place}", term[1] if math.isfinite(term[1]) else None, told["dof"])
    low = high = None
    if scatter:
        u, dof, low, high = interval(compared.change, terms, None if is_pooled else own_half)
        checks.hold("combined uncertainty", name, u, row["u_db"])
        checks.hold("degrees of freedom", name, dof if math.isfinite(dof) else None, row["dof"])
    checks.hold("lower end", name, low, row["low_db"], QUANTILE)
    checks.hold("upper end", name, high, row["high_db"], QUANTILE)
    limit = max(SMALLEST_CLAIM_DB, REPEAT_FACTOR * spread_of_repeats(compared, repeats.get(weighting)))
    checks.hold("least change to claim", name, limit, row["limit_db"])
    doubts = [reason for reason in row["why_not"].split("; ") if reason.startswith(DOUBTS)]
    checks.same("claim", name, claim(compared.change, compared.bound, low, high, limit, doubts), row["claim"])
    if row["control_from"]:
        effect(row, compared, scatter, is_pooled, around, days, found, spreads, checks)


def spread_of_repeats(compared, repeats):
    if compared.of_runs:
        dofs = [len(runs) - 1 for runs in compared.runs]
        squares = sum(np.var(runs, ddof=1) * (len(runs) - 1) for runs in compared.runs if len(runs) > 1)
        return math.sqrt(squares / sum(dofs)) if sum(dofs) else 0.0
    return repeats[0] if repeats else 0.0


def effect(row, compared, scatter, is_pooled, around, days, found, spreads, checks):
    """The change less what an untouched wall changed."""
    name = row["change"]
    first, second = found[row["control_from"]], found[row["control_to"]]
    control = Compared(first, second)
    checks.hold("change of the untouched wall", name, control.change, row["control_change_db"])
    value = compared.change - control.change
    checks.hold("change less the untouched wall", name, value, row["effect_db"])
    checks.same("bound of that", name, minus(compared.bound, control.bound), row["effect_bound"])
    if row["effect_u_db"] == "":
        return
    beside, beside_pooled, _ = scatter_terms(control, spreads.get(("position scatter", row["weighting"])), step_of(first, second))
    if is_pooled and beside_pooled:
        one = (math.hypot(scatter[0][0], beside[0][0]), scatter[0][1])
        terms = [one] + scatter[1:] + beside[1:]
    else:
        terms = scatter + beside
    day = all(days[row[a]] and days[row[a]] == days[row[b]] for a, b in (("from", "control_from"), ("to", "control_to")))
    setup = day and rooms_of(row["from"]) is not None and rooms_of(row["from"]) == rooms_of(row["control_from"])
    left = {key: term for key, term in around.items() if not (day if key == "another day" else setup)}
    u, dof = joined(terms + [(u * math.sqrt(2), dof) for u, dof in left.values()])
    checks.hold("uncertainty of that", name, u, row["effect_u_db"])
    checks.hold("degrees of freedom of that", name, dof if math.isfinite(dof) else None, row["effect_dof"])
    alone_u, alone_dof = joined(terms)
    half = max(quantile(dof) * u, quantile(alone_dof) * alone_u)
    checks.hold("lower end of that", name, value - half, row["effect_low_db"], QUANTILE)
    checks.hold("upper end of that", name, value + half, row["effect_high_db"], QUANTILE)


ROOMS = {}


def rooms_of(one):
    return ROOMS.get(one)


# --- bands, bench, heat, money ---------------------------------------------------------------------------------------


def bands(package, checks):
    results = {(row["set"], row["band_hz"]): row for row in package.table("band-results")}
    readings = {row["reading"]: row for row in package.table("readings")}
    rules = {test["test"]: test["background_rule"] for test in package.table("tests")}
    tests = {one["set"]: one["test"] for one in package.table("sets")}
    by_band, widths = collections.defaultdict(lambda: collections.defaultdict(list)), collections.defaultdict(set)
    for row in package.table("bands"):
        reading = readings[row["reading"]]
        if row["unit"] == "dBZ" and reading["counted"] == "true" and reading["subject"] != "reverberation":
            key = (reading["role"], reading["position"] if reading["role"] != "background" else reading["reading"])
            by_band[reading["set"], row["band_hz"]][key].append(float(row["value"]))
            widths[reading["set"]].add(row["width"])
    for (one, hz), row in results.items():
        # Octaves beside thirds are summed up first, which is left to the program.
        if len(widths[one]) != 1:
            continue
        roles = collections.defaultdict(list)
        for (role, _), levels in by_band[one, hz].items():
            roles[role].append(energy_mean(levels))
        receive = energy_mean(roles["receive"])
        noise = max(roles["background"], default=None)
        after, part = corrected(rules[tests[one]], receive, noise)
        name = f"{one} {hz} Hz"
        checks.hold("level difference in a band", name, energy_mean(roles["source"]) - after, row["level_difference_db"])
        checks.same("bound in a band", name, bound_of(part), row["bound"])
    for row in package.table("band-changes"):
        name = f"{row['from']} to {row['to']} {row['band_hz']} Hz"
        checks.hold("change in a band", name, float(row["after_db"]) - float(row["before_db"]), row["change_db"])


def bench(package, found, checks):
    rows = {row["set"]: row for row in package.table("bench-results")}
    by_test = collections.defaultdict(list)
    for one in package.table("sets"):
        if one["in_results"] == "true" and found[one["set"]].runs:
            by_test[one["test"]].append(found[one["set"]].runs)
    for name, row in rows.items():
        runs = found[name].runs
        checks.same("runs", name, len(runs), int(row["n"]))
        checks.hold("mean of runs", name, float(np.mean(runs)), row["mean_db"])
        checks.hold("spread of runs", name, float(np.std(runs, ddof=1)) if len(runs) > 1 else None, row["sd_db"])
        checks.hold("pooled spread of runs", name, pooled_runs(by_test[row["test"]]), row["pooled_sd_db"])
        if row["repeats"]:
            drift = float(np.mean(runs) - np.mean(found[row["repeats"]].runs))
            checks.hold("drift", name, drift, row["drift_db"])
            checks.same("held still", name, "true" if abs(drift) <= 1.0 else "false", row["held"])
    for row in package.table("bench-pairs"):
        name = f"{row['first']} and {row['second']}"
        one, other = found[row["first"]].runs, found[row["second"]].runs
        difference = float(np.mean(other) - np.mean(one))
        checks.hold("difference of states", name, difference, row["difference_db"])
        low = high = None
        if min(len(one), len(other)) > 1 and np.std(one) + np.std(other) > 0:
            low, high = map(float, stats.ttest_ind(other, one, equal_var=False).confidence_interval(0.95))
        checks.hold("lower end of states", name, low, row["low_db"], QUANTILE)
        checks.hold("upper end of states", name, high, row["high_db"], QUANTILE)
        pooled = number(rows[row["first"]]["pooled_sd_db"]) or 0.0
        limit = max(SMALLEST_APART_DB, REPEAT_FACTOR * pooled)
        checks.hold("least difference of states", name, limit, row["limit_db"])
        apart = abs(difference) >= limit and low is not None and (low > 0 or high < 0)
        checks.same("told apart", name, "true" if apart else "false", row["told_apart"])


def pooled_runs(all_runs):
    dof = sum(len(runs) - 1 for runs in all_runs)
    squares = sum(np.sum((np.array(runs) - np.mean(runs)) ** 2) for runs in all_runs)
    return math.sqrt(squares / dof) if dof and squares > 0 else None


def thermal(package, checks):
    by_set = collections.defaultdict(lambda: collections.defaultdict(list))
    for row in package.table("readings"):
        if row["value"] and row["struck"] == "false" and not row["in_conflict"]:
            value = float(row["value"])
            by_set[row["set"]][row["subject"]].append((value - 32) / 1.8 if row["unit"] == "°F" else value)
    columns = {"inside-air": "inside_c", "outside-air": "outside_c", "surface": "surface_c"}
    columns |= {"smoke-paths": "smoke_paths", "moisture": "moisture_percent"}
    for row in package.table("thermal"):
        name = row["set"]
        mean = {subject: float(np.mean(values)) for subject, values in by_set[name].items()}
        for subject, column in columns.items():
            if subject in mean or row[column]:
                checks.hold(f"mean of {subject}", name, mean.get(subject), row[column])
        inside, outside, surface = (mean.get(key) for key in ("inside-air", "outside-air", "surface"))
        if None not in (inside, outside, surface) and inside != outside:
            checks.hold("temperature factor", name, (surface - outside) / (inside - outside), row["factor"])


def quantities(package, checks):
    """Differences from both ends, shares from terms, and intervals from uncertainty and degrees of freedom.

    An interval is never narrower than what scatters makes it alone, so it may be wider than its uncertainty says. The numbers of each
    state come from many methods and are recomputed for surface temperatures only.
    """
    changes = package.table("quantity-changes")
    for row in package.table("quantity-results") + [row for row in changes if row["relative_percent"] == ""]:
        name = f"{row.get('set') or row['from'] + ' to ' + row['to']}, {row['quantity']}"
        if row["u"] and row["low"]:
            half = (float(row["high"]) - float(row["low"])) / 2
            dof = number(row["dof"]) or math.inf
            checks.same("interval wide enough", name, half >= quantile(dof) * float(row["u"]) * (1 - QUANTILE), True)
    for row in changes:
        name = f"{row['from']} to {row['to']}, {row['quantity']}"
        if row["change"] == "":
            checks.same("no change, with its reason", name, row["absent"] != "", True)
        elif row["before"] and row["after"]:
            checks.hold("change of a quantity", name, float(row["after"]) - float(row["before"]), row["change"])
    terms = collections.defaultdict(list)
    for row in package.table("quantity-budget"):
        terms[row["from"], row["to"], row["change"]].append((float(row["u"]), float(row["share"])))
    for (first, second, _), of in terms.items():
        variance = sum(u * u for u, _ in of)
        for place, (u, share) in enumerate(of, start=1):
            checks.hold("share of a term", f"{first} to {second} {place}", u * u / variance if variance else 0.0, share)


def money(package, checks):
    jobs = collections.defaultdict(dict)
    for row in package.table("costs"):
        jobs[row["job"]][row["group"]] = float(row["amount"])
    for job, of in jobs.items():
        groups = ("material", "rental", "labour", "permit", "disposal", "subcontract", "other", "moved-in")
        total = sum(of[group] for group in groups) - of["moved-out"]
        checks.hold("total cost", job, round(total, 6), of["total"])
        checks.hold("total less stock", job, round(total - of["left-in-stock"], 6), of["net"])
    left = collections.defaultdict(float)
    for row in package.table("stock-left"):
        left[row["job"]] += number(row["value"]) or 0.0
    for job, of in jobs.items():
        checks.hold("left in stock", job, round(left[job], 6), of["left-in-stock"])


def expected(package, path, checks):
    """Numbers known from elsewhere, where the package has what they are of."""
    known = json.loads(pathlib.Path(path).read_text(encoding="utf-8"))
    differences = {row["set"]: row for row in package.table("set-results")}
    for name, value in known["level_differences_db"].items():
        if name in differences:
            checks.hold("known level difference", name, round(float(differences[name]["level_difference_db"]) + 1e-9, 1), value)
    found = {row["change"]: row for row in package.table("changes")}
    for name, value in known["changes_db"].items():
        if name in found:
            checks.hold("known change", name, round(float(found[name]["change_db"]) + 1e-9, 1), value)
    if not checks.used["known level difference"]:
        sys.exit(f"{path} names no set of this package")


def main():
    # Equal runs are expected here, and their mean is exact.
    warnings.filterwarnings("ignore", message="Precision loss")
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder")
    parser.add_argument("--expect", help="numbers known from elsewhere, as JSON")
    asked = parser.parse_args()
    package, checks = Package(asked.folder), Checks()
    if not package.table("sets"):
        sys.exit(f"{asked.folder} holds no sets.csv with a row: name the folder of a data package")
    ROOMS.update({one["set"]: one["from_room"] or None for one in package.table("sets")})
    found = sets(package, checks)
    changes(package, found, checks)
    bands(package, checks)
    bench(package, found, checks)
    thermal(package, checks)
    quantities(package, checks)
    money(package, checks)
    if asked.expect:
        expected(package, asked.expect, checks)
    return 1 if checks.report() else 0


if __name__ == "__main__":
    sys.exit(main())
