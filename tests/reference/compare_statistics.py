"""Holds the program's statistics against numpy and scipy by other routes, on random inputs, through its command line.

    compare_statistics.py PROGRAM

Where the program climbs a likelihood, this minimises the one of error contrasts; where it solves in closed form, this looks for
the root; where it sums over a grid, this integrates with control of its error. Closes with one line that counts what passed and
failed. Called by another script, `compare` gives one truth for each check and prints no such line.
"""

import json
import math
import subprocess
import sys

import numpy as np
from scipy import integrate, optimize, stats

INPUTS = 200


class Checks:
    """Asks the program, and counts answers that stray."""

    def __init__(self, program):
        self.program = program
        self.passed = []

    def calc(self, name, inputs):
        lines = "".join(json.dumps(one) + "\n" for one in inputs)
        done = subprocess.run([self.program, "calc", name], input=lines, capture_output=True, text=True, check=False)
        answers = [json.loads(line) for line in done.stdout.splitlines()]
        assert len(answers) == len(inputs), done.stderr
        return answers

    def hold(self, name, calc, inputs, expect, tolerance):
        """`expect` gives pairs of what the program says and what is so, from an answer and its input."""
        worst, where, wrong = 0.0, None, 0
        for index, (answer, one) in enumerate(zip(self.calc(calc, inputs), inputs)):
            off = 0.0
            try:
                for got, expected in expect(answer, one):
                    got, expected = np.atleast_1d(np.asarray(got, float)), np.atleast_1d(np.asarray(expected, float))
                    assert got.shape == expected.shape and np.all(np.isfinite(got)) and np.all(np.isfinite(expected))
                    off = max(off, float(np.max(np.abs(got - expected) / (1e-3 + np.abs(expected)))))
            except (KeyError, TypeError, AssertionError, ValueError) as error:
                off, answer = math.inf, f"{error!r} {answer}"
            if not off <= worst:
                worst, where = off, (index, one, answer)
            wrong += not off <= tolerance
        said = f"worst {worst:.1e}" if not wrong else f"{wrong} differ, worst {worst:.1e} at {where}"
        self.passed.append(wrong == 0)
        print(f"test {name}, {len(inputs)} inputs ... {'ok' if not wrong else 'FAILED'}: {said}", flush=True)


def plain(values):
    return [float(value) for value in values]


# --- one test --------------------------------------------------------------------------------------------------------


def single_tests(checks, rng):
    pairs = []
    for _ in range(INPUTS):
        n = int(rng.integers(2, 12))
        before = rng.normal(62, 2, n)
        pairs.append({"before": plain(before), "after": plain(before - rng.normal(5, 1.2, n))})

    def paired(answer, one):
        test = stats.ttest_rel(one["before"], one["after"])
        interval = test.confidence_interval(0.95)
        yield answer["t"], test.statistic
        yield answer["p_two_sided"], test.pvalue
        yield answer["ci"], [interval.low, interval.high]

    checks.hold("paired differences against scipy", "paired_differences", pairs, paired, 1e-8)

    def energy(answer, one):
        # Uncertainty by the numerical gradient of the difference and the covariance of the powers.
        n = len(one["before"])
        powers = np.array([one["before"], one["after"]])
        difference = lambda p: 10 * (np.log10(p[0]) - np.log10(p[1]))
        linear = 10 ** (powers / 10)
        mean = linear.mean(axis=1)
        gradient = optimize.approx_fprime(mean, difference, 1e-6 * mean)
        u = math.sqrt(gradient @ np.cov(linear) @ gradient / n)
        half = stats.t.ppf(0.975, n - 1) * u
        yield answer["D_energy"], difference(mean)
        yield answer["u"], u
        yield answer["ci"], [difference(mean) - half, difference(mean) + half]

    checks.hold("energy differences against a numerical gradient", "decibels.energy_difference", pairs, energy, 1e-4)

    samples = [{"values": plain(rng.normal(5, 1.5, int(rng.integers(3, 14))))} for _ in range(INPUTS)]

    def grubbs(answer, one):
        values = np.array(one["values"])
        n = len(values)
        g = np.max(np.abs(stats.zscore(values, ddof=1)))
        # The farthest value left out and tested against the rest is a t of its own, G a function of it: solve for the limit.
        t_of = lambda g: math.sqrt(n * (n - 2) * g * g / ((n - 1) ** 2 - n * g * g))
        beyond = lambda g, tests: tests * stats.t.sf(t_of(g), n - 2) - 0.05
        highest = (n - 1) / math.sqrt(n) * (1 - 1e-13)
        got = answer["grubbs"]
        yield got["G"], g
        yield got["critical_two_sided"], optimize.brentq(beyond, 0.1, highest, args=(2 * n,), xtol=1e-14)
        yield got["critical_one_sided"], optimize.brentq(beyond, 0.1, highest, args=(n,), xtol=1e-14)
        yield answer["modified_z"]["z"], 0.6745 * (values - np.median(values)) / stats.median_abs_deviation(values)

    checks.hold("outliers against scipy", "outlier_flags", samples, grubbs, 1e-8)

    groups = []
    for _ in range(INPUTS):
        count = int(rng.integers(2, 6))
        groups.append({"groups": [plain(rng.normal(rng.normal(60, 1), 0.4, int(rng.integers(2, 6)))) for _ in range(count)]})

    def components(answer, one):
        test = stats.f_oneway(*one["groups"])
        yield answer["F"], test.statistic
        yield answer["p_value"], test.pvalue
        # Expected mean square between groups, by the trace of its quadratic form.
        sizes = [len(group) for group in one["groups"]]
        label = np.repeat(np.eye(len(sizes)), sizes, axis=0)
        centre = np.eye(sum(sizes)) - 1 / sum(sizes)
        between = label @ np.linalg.inv(label.T @ label) @ label.T
        n0 = np.trace(label.T @ centre @ between @ centre @ label) / (len(sizes) - 1)
        yield answer["n0"], n0
        yield answer["s_L2_untruncated"], (answer["ms_between"] - answer["ms_within"]) / n0

    checks.hold("repeatability against scipy", "variance_components", groups, components, 1e-7)

    controls = []
    for _ in range(INPUTS):
        test, control = rng.normal(62, 2, int(rng.integers(2, 8))), rng.normal(60, 2, int(rng.integers(2, 8)))
        controls.append({
            "test_before": plain(test), "test_after": plain(test - rng.normal(5, 1, len(test))),
            "control_before": plain(control), "control_after": plain(control - rng.normal(0.3, 0.5, len(control))),
        })

    def welch(answer, one):
        first = np.subtract(one["test_before"], one["test_after"])
        second = np.subtract(one["control_before"], one["control_after"])
        test = stats.ttest_ind(first, second, equal_var=False)
        interval = test.confidence_interval(0.95)
        yield answer["nu"], test.df
        yield answer["ci"], [interval.low, interval.high]

    name = "grading_controls.difference_in_differences"
    checks.hold("control walls against scipy's Welch test", name, controls, welch, 1e-8)

    near = []
    for _ in range(INPUTS):
        values = rng.normal(8.8, 0.5, int(rng.integers(2, 9)))
        near.append({"values": plain(values), "target": 8.4, "margin": float(rng.uniform(0.2, 2))})

    def equivalence(answer, one):
        gap = np.array(one["values"]) - one["target"]
        above = stats.ttest_1samp(gap, -one["margin"], alternative="greater").pvalue
        below = stats.ttest_1samp(gap, one["margin"], alternative="less").pvalue
        yield answer["p_equivalence"], max(above, below)
        yield answer["ci90"], list(stats.ttest_1samp(gap, 0).confidence_interval(0.9))

    checks.hold("equivalence against scipy", "moisture_temperature.equivalence", near, equivalence, 1e-8)

    bounded = []
    for _ in range(INPUTS):
        n = int(rng.integers(4, 10))
        values, hidden = rng.normal(5, 1.5, n), rng.random(n) < 0.3
        hidden[:2] = False
        bounded.append({"reductions": plain(values), "is_lower_bound": [bool(one) for one in hidden]})

    def censored(answer, one):
        values, hidden = np.array(one["reductions"]), np.array(one["is_lower_bound"])

        def loss(at):
            scale = math.exp(at[1])
            return -stats.norm.logpdf(values[~hidden], at[0], scale).sum() - stats.norm.logsf(values[hidden], at[0], scale).sum()

        start = [values.mean(), math.log(values.std() + 0.1)]
        options = {"xatol": 1e-10, "fatol": 1e-13, "maxiter": 10_000, "maxfev": 10_000}
        found = optimize.minimize(loss, start, method="Nelder-Mead", options=options)
        yield answer["mu"], found.x[0]
        yield answer["sigma"], math.exp(found.x[1])
        yield answer["loglik"], -found.fun

    checks.hold("bounds against scipy's Nelder-Mead", "decibels.right_censored_normal", bounded, censored, 1e-5)

    budgets = []
    for _ in range(INPUTS):
        n = int(rng.integers(2, 6))
        budgets.append({
            "u": plain(rng.uniform(0.1, 1, n)), "dof": plain(rng.uniform(1, 40, n)), "sensitivity": plain(rng.normal(0, 1, n)),
        })

    def budget(answer, one):
        # Degrees of freedom of a sum of scaled chi-squared variances, by matching its variance.
        parts = (np.array(one["u"]) * one["sensitivity"]) ** 2
        nu = 2 * parts.sum() ** 2 / np.sum(2 * parts**2 / np.array(one["dof"]))
        yield answer["u_c"], math.sqrt(parts.sum())
        yield answer["nu_eff"], nu
        yield answer["U_fractional"], stats.t.ppf(0.975, nu) * math.sqrt(parts.sum())

    checks.hold("budgets against scipy", "gum.welch_satterthwaite", budgets, budget, 1e-8)


# --- several jobs ----------------------------------------------------------------------------------------------------


class Contrasts:
    """Jobs seen through contrasts that no mean, and no column, enters: their likelihood is the restricted one."""

    def __init__(self, y, v, columns=None):
        self.y, self.v = np.array(y), np.array(v)
        self.x = np.ones((len(y), 1)) if columns is None else np.array(columns, float)
        self.rest = len(y) - self.x.shape[1]
        full, _ = np.linalg.qr(self.x, mode="complete")
        self.blind = full[:, self.x.shape[1]:]
        self.z = self.blind.T @ self.y

    def loss(self, tau2):
        spread = self.blind.T @ np.diag(self.v + tau2) @ self.blind
        return 0.5 * (np.linalg.slogdet(spread)[1] + self.z @ np.linalg.solve(spread, self.z))

    def q(self, tau2):
        spread = self.blind.T @ np.diag(self.v + tau2) @ self.blind
        return self.z @ np.linalg.solve(spread, self.z)

    def where_q_is(self, target):
        if self.q(0.0) <= target:
            return 0.0
        return optimize.brentq(lambda tau2: self.q(tau2) - target, 0.0, 1e6, xtol=1e-14, rtol=1e-14)

    def tau2(self, method):
        if method == "PM":
            return self.where_q_is(self.rest)
        if method == "DL":
            # The mean of Q grows by this with every unit of tau2.
            spread = self.blind.T @ np.diag(self.v) @ self.blind
            return max(0.0, (self.q(0.0) - self.rest) / np.trace(np.linalg.inv(spread)))
        grid = np.concatenate([[0.0], np.geomspace(1e-6, 1e3, 300)])
        best = int(np.argmin([self.loss(tau2) for tau2 in grid]))
        low, high = grid[max(best - 1, 0)], grid[min(best + 1, len(grid) - 1)]
        found = optimize.minimize_scalar(self.loss, bounds=(low, high), method="bounded", options={"xatol": 1e-12})
        return found.x if found.fun < self.loss(0.0) else 0.0

    def fit(self, tau2):
        root = 1 / np.sqrt(self.v + tau2)
        beta, _, _, _ = np.linalg.lstsq(self.x * root[:, None], self.y * root, rcond=None)
        _, r = np.linalg.qr(self.x * root[:, None])
        inverse = np.linalg.inv(r)
        return beta, inverse @ inverse.T, np.sum(((self.y - self.x @ beta) * root) ** 2) / self.rest


def some_jobs(rng, low, high):
    k = int(rng.integers(low, high))
    v = rng.uniform(0.1, 1, k)
    return {"y": plain(rng.normal(rng.normal(5, 1, k), np.sqrt(v))), "v": plain(v)}


def several_jobs(checks, rng):
    inputs = [some_jobs(rng, 2, 12) for _ in range(INPUTS)]

    def averages(answer, one):
        jobs = Contrasts(**one)
        k = len(one["y"])
        for method in ("DL", "PM", "REML"):
            tau2, got = jobs.tau2(method), answer["random"][method]
            # Near the top a likelihood is flat: half the digits of its height are those of its place.
            yield got["tau2"], got["tau2"] if method == "REML" and abs(got["tau2"] - tau2) < 3e-6 else tau2
            beta, covariance, q = jobs.fit(got["tau2"])
            t, variance = stats.t.ppf(0.975, k - 1), covariance[0, 0]
            modified = variance * max(1, q)
            yield got["mu"], beta[0]
            yield got["hk_q"], q
            yield got["ci_hk"], beta[0] + t * math.sqrt(variance * q) * np.array([-1, 1])
            yield got["ci_mhk"], beta[0] + t * math.sqrt(modified) * np.array([-1, 1])
            yield got["pi_km1_mhk_se"], beta[0] + t * math.sqrt(got["tau2"] + modified) * np.array([-1, 1])
        yield answer["Q"], jobs.q(0.0)
        yield answer["Q_p"], stats.chi2.sf(jobs.q(0.0), k - 1)
        least, most = stats.chi2.ppf(0.025, k - 1), stats.chi2.ppf(0.975, k - 1)
        if jobs.q(0.0) > least:
            yield answer["tau2_ci_qprofile"], [jobs.where_q_is(most), jobs.where_q_is(least)]
        else:
            assert answer["tau2_ci_qprofile"] is None

    checks.hold("averages over jobs through error contrasts", "meta_fixed_random", inputs, averages, 1e-6)

    regressions = []
    for _ in range(INPUTS):
        one = some_jobs(rng, 9, 16)
        k = len(one["y"])
        rows = np.column_stack([np.ones(k), rng.normal(0, 30, k), rng.integers(0, 2, k)])
        rows[:2, 2] = [0, 1]
        one["y"] = plain(np.array(one["y"]) + 0.03 * rows[:, 1])
        regressions.append({**one, "X": rows.tolist(), "method": ("DL", "PM", "REML")[k % 3]})

    def regression(answer, one):
        jobs = Contrasts(one["y"], one["v"], one["X"])
        tau2 = jobs.tau2(one["method"])
        assert abs(answer["tau2"] - tau2) <= 3e-6 * (1 + tau2), f"tau2 {tau2}"
        beta, covariance, q = jobs.fit(answer["tau2"])
        errors = np.sqrt(np.diag(covariance) * max(1, q))
        half = stats.t.ppf(0.975, jobs.rest) * errors
        yield answer["beta"], beta
        yield answer["mhk_se"], errors
        yield answer["ci_mhk"], np.column_stack([beta - half, beta + half])
        yield answer["QE"], jobs.q(0.0)
        # The test of two columns by what leaving them out adds to the weighted squares.
        root = 1 / np.sqrt(jobs.v + answer["tau2"])
        short = jobs.x[:, :1] * root[:, None]
        left = jobs.y * root - short @ np.linalg.lstsq(short, jobs.y * root, rcond=None)[0]
        qm = left @ left - q * jobs.rest
        yield answer["QM"], qm
        yield answer["QM_p"], stats.chi2.sf(qm, 2)
        yield answer["F_p"], stats.f.sf(qm / 2 / max(1, q), 2, jobs.rest)

    checks.hold("regressions over jobs through error contrasts", "meta_regression", regressions, regression, 1e-6)

    def eblup(answer, one):
        # Henderson's equations for the mean and every job's own deviation at once.
        k, tau2 = len(one["y"]), answer["tau2"]
        if tau2 < 1e-9:
            yield answer["eblup"], [answer["mu"]] * k
            return
        precision = np.diag(1 / np.array(one["v"]))
        ones = np.ones((k, 1))
        left = np.block([[ones.T @ precision @ ones, ones.T @ precision], [precision @ ones, precision + np.eye(k) / tau2]])
        right = np.concatenate([ones.T @ precision @ one["y"], precision @ one["y"]])
        solution, inverse = np.linalg.solve(left, right), np.linalg.inv(left)
        sums = np.hstack([ones, np.eye(k)])
        yield answer["eblup"], solution[0] + solution[1:]
        yield answer["se"], np.sqrt(np.diag(sums @ inverse @ sums.T))

    checks.hold("shrunken jobs against Henderson's equations", "shrinkage_ranking.eblup",
                [{**one, "method": "PM"} for one in inputs], eblup, 1e-6)

    few = [{**some_jobs(rng, 1, 6), "tau_scale": float(rng.uniform(0.5, 4)), "threshold": 4.0} for _ in range(INPUTS // 5)]

    def half_normal(answer, one):
        y, v, scale = np.array(one["y"]), np.array(one["v"]), one["tau_scale"]

        def parts(tau):
            w = 1 / (v + tau * tau)
            mean = np.sum(w * y) / np.sum(w)
            log = 0.5 * np.sum(np.log(w)) - 0.5 * math.log(np.sum(w)) - 0.5 * np.sum(w * (y - mean) ** 2) - 0.5 * (tau / scale) ** 2
            return log, mean, 1 / np.sum(w)

        top = max(parts(tau)[0] for tau in np.linspace(0, 5 * scale, 200))

        def expect(function):
            weighted = lambda tau: math.exp(parts(tau)[0] - top) * function(tau, *parts(tau)[1:])
            points = [0, 0.1 * scale, 0.5 * scale, scale, 2 * scale, 4 * scale, 10 * scale]
            return sum(integrate.quad(weighted, a, b, epsabs=1e-13, epsrel=1e-11)[0] for a, b in zip(points, points[1:]))

        whole = expect(lambda tau, mean, variance: 1.0)
        below = lambda at: expect(lambda tau, mean, variance: stats.norm.cdf((at - mean) / math.sqrt(variance))) / whole
        below_next = lambda at: expect(
            lambda tau, mean, variance: stats.norm.cdf((at - mean) / math.sqrt(variance + tau * tau))) / whole
        yield answer["mu_mean"], expect(lambda tau, mean, variance: mean) / whole
        yield answer["p_mu_gt"], 1 - below(4.0)
        yield answer["p_new_gt"], 1 - below_next(4.0)
        # Ends are checked by what lies below them.
        yield [below(answer["mu_ci"][0]), below(answer["mu_ci"][1])], [0.025, 0.975]
        yield [below_next(answer["pi"][0]), below_next(answer["pi"][1])], [0.025, 0.975]

    checks.hold("few jobs by adaptive quadrature", "shrinkage_ranking.bayes_half_normal", few, half_normal, 1e-6)

    ranked = [{
        "mean": plain(rng.normal(5, 1, 4)), "se": plain(rng.uniform(0.2, 1.5, 4)), "larger_is_better": bool(rng.integers(0, 2)),
    } for _ in range(INPUTS // 2)]

    def ranking(answer, one):
        sign = 1 if one["larger_is_better"] else -1
        mean, se = sign * np.array(one["mean"]), np.array(one["se"])
        for index in range(len(mean)):
            others = np.arange(len(mean)) != index
            best = lambda x: stats.norm.pdf(x, mean[index], se[index]) * np.prod(stats.norm.cdf((x - mean[others]) / se[others]))
            ends = (mean[index] - 9 * se[index], mean[index] + 9 * se[index])
            # Between the means of the others, where the product bends.
            cuts = sorted([*ends, *(m for m in mean if ends[0] < m < ends[1])])
            chance = sum(integrate.quad(best, a, b, epsabs=1e-11, limit=200)[0] for a, b in zip(cuts, cuts[1:]))
            yield answer["p_best"][index], chance
            beats = stats.norm.cdf((mean[index] - mean[others]) / np.hypot(se[index], se[others]))
            yield answer["p_score"][index], beats.mean()

    checks.hold("ranks by adaptive quadrature", "shrinkage_ranking.ranking_independent_normal", ranked, ranking, 1e-6)

    chances = [{"p": plain(rng.uniform(0, 1, int(rng.integers(1, 12))) ** 3)} for _ in range(INPUTS)]

    def adjusted(answer, one):
        p = np.array(one["p"])
        yield answer["benjamini_hochberg"], stats.false_discovery_control(p)
        # Holm by closing: a claim falls with the least favourable set of hypotheses that holds it.
        holm = [max(min(1, p[p >= p[j]].size * p[j]) for j in range(len(p)) if p[j] <= p[i]) for i in range(len(p))]
        yield answer["holm"], holm

    checks.hold("adjusted chances against scipy", "shrinkage_ranking.adjust_p", chances, adjusted, 1e-10)


# --- plans and costs -------------------------------------------------------------------------------------------------


def plans_and_costs(checks, rng):
    plans = [{
        "difference": float(rng.uniform(0.2, 3)), "sd_of_differences": float(rng.uniform(0.5, 2)), "n": int(rng.integers(2, 60)),
        "alpha": float(rng.uniform(0.01, 0.2)), "two_sided": bool(rng.integers(0, 2)),
    } for _ in range(INPUTS)]

    def power(answer, one):
        n, shift = one["n"], one["difference"] / one["sd_of_differences"] * math.sqrt(one["n"])
        tail = one["alpha"] / 2 if one["two_sided"] else one["alpha"]
        critical = stats.t.isf(tail, n - 1)
        other = stats.nct.cdf(-critical, n - 1, shift) if one["two_sided"] else 0.0
        yield answer["power"], stats.nct.sf(critical, n - 1, shift) + (other if math.isfinite(other) else 0.0)

    checks.hold("power against scipy's noncentral t", "power_design.power", plans, power, 1e-6)

    ratios = []
    for _ in range(INPUTS):
        sd = (float(rng.uniform(0.1, 4)), float(rng.uniform(0.05, 0.9)))
        ratios.append({
            "numerator": float(rng.uniform(5, 60)), "denominator": float(rng.uniform(4, 9)), "var_num": sd[0] ** 2,
            "var_den": sd[1] ** 2, "cov": float(rng.uniform(-0.9, 0.9)) * sd[0] * sd[1], "df": float(rng.uniform(4, 40)),
        })

    def fieller(answer, one):
        # By definition: the ratios at which the contrast is as far from nothing as t allows.
        t = stats.t.ppf(0.975, one["df"])
        off = lambda r: (one["numerator"] - r * one["denominator"]) ** 2 - t * t * (
            one["var_num"] + r * r * one["var_den"] - 2 * r * one["cov"])
        ratio = one["numerator"] / one["denominator"]
        low, high = ratio - 0.01, ratio + 0.01
        while off(low) < 0:
            low -= 2 * (ratio - low)
        while off(high) < 0:
            high += 2 * (high - ratio)
        assert answer["kind"] == "bounded"
        yield answer["lower"], optimize.brentq(off, low, ratio, xtol=1e-13)
        yield answer["upper"], optimize.brentq(off, ratio, high, xtol=1e-13)

    checks.hold("ratios against the roots of their contrast", "cost_effectiveness.fieller", ratios, fieller, 1e-8)

    choices = [{
        "mean_difference": float(rng.normal(0, 1.5)), "variance_now": float(rng.uniform(1, 3)),
        "variance_after": float(rng.uniform(0.1, 1)),
    } for _ in range(INPUTS)]

    def worth(answer, one):
        spread = math.sqrt(one["variance_now"] - one["variance_after"])
        mean = abs(one["mean_difference"])
        loss = lambda x: max(0.0, -x) * stats.norm.pdf(x, mean, spread)
        yield answer["evsi"], integrate.quad(loss, mean - 12 * spread, 0, epsabs=1e-13)[0] if mean < 12 * spread else 0.0

    name = "power_design.expected_value_of_sample_information"
    checks.hold("worth of a test by quadrature", name, choices, worth, 1e-7)


# --- other quantities ------------------------------------------------------------------------------------------------


def other_quantities(checks, rng):
    fans = []
    for _ in range(INPUTS):
        pressure = np.sort(rng.uniform(8, 70, int(rng.integers(5, 12))))
        flow = rng.uniform(30, 90) * pressure ** rng.uniform(0.5, 0.8) * np.exp(rng.normal(0, 0.03, len(pressure)))
        fans.append({
            "pressure_pa": plain(pressure), "flow": plain(flow), "flow_unit": "m3/h", "reference_pa": 50, "volume_m3": 300,
            "envelope_m2": None,
        })

    def air(answer, one):
        # Polynomial with its covariance, moved so that the reference pressure is 0: its height there has its error.
        x, y = np.log(one["pressure_pa"]), np.log(one["flow"])
        for shift, value, error, interval in ((math.log(50), "Q_ref", "s_lnQ_ref", "Q_ref_ci"), (0.0, "C", "s_lnC", "C_ci")):
            (slope, height), covariance = np.polyfit(x - shift, y, 1, cov=True)
            half = stats.t.ppf(0.975, len(x) - 2) * math.sqrt(covariance[1, 1])
            yield answer[value], math.exp(height)
            yield answer[error], math.sqrt(covariance[1, 1])
            yield answer[interval], np.exp([height - half, height + half])
        line = stats.linregress(x, y)
        yield [answer["n"], answer["s_n"], answer["r2"]], [line.slope, line.stderr, line.rvalue**2]

    checks.hold("fan readings against numpy and scipy", "air_leakage.fit", fans, air, 1e-7)

    woods = [{"temperature_c": float(rng.uniform(-1, 50)), "rh_percent": float(rng.uniform(1, 98))} for _ in range(INPUTS)]

    def wood(answer, one):
        # The same equation in Fahrenheit, as the Forest Products Laboratory first printed it (from memory). Its coefficients are
        # rounded otherwise, which is worth less than 0.05 points.
        t, h = one["temperature_c"] * 1.8 + 32, one["rh_percent"] / 100
        w, k = 330 + 0.452 * t + 0.00415 * t * t, 0.791 + 0.000463 * t - 0.000000844 * t * t
        k1, k2 = 6.34 + 0.000775 * t - 0.0000935 * t * t, 1.09 + 0.0284 * t - 0.0000904 * t * t
        x = k * h
        expected = 1800 / w * (x / (1 - x) + (k1 * x + 2 * k1 * k2 * x * x) / (1 + k1 * x + k1 * k2 * x * x))
        yield round((answer["emc_percent"] - expected) / 0.1), 0

    checks.hold("wood against the equation in Fahrenheit", "moisture_temperature.emc", woods, wood, 1e-9)

    weeks = []
    for _ in range(INPUTS):
        n = int(rng.integers(6, 20))
        outdoor, after = rng.normal(3, 4, n), np.arange(n) >= n // 2
        indoor = 18 + 0.2 * outdoor + 1.1 * after + rng.normal(0, 0.3, n)
        weeks.append({"outdoor": plain(outdoor), "indoor": plain(indoor), "after": [bool(one) for one in after]})

    def adjusted_change(answer, one):
        x = np.column_stack([np.ones(len(one["after"])), one["outdoor"], np.array(one["after"], float)])
        beta, squares, _, _ = np.linalg.lstsq(x, np.array(one["indoor"]), rcond=None)
        dof = len(x) - 3
        error = math.sqrt(squares[0] / dof * np.linalg.inv(x.T @ x)[2, 2])
        half = stats.t.ppf(0.975, dof) * error
        yield [answer["change"], answer["se"], answer["outdoor_slope"]], [beta[2], error, beta[1]]
        yield answer["ci"], [beta[2] - half, beta[2] + half]

    name = "moisture_temperature.outdoor_adjusted_change"
    checks.hold("indoor temperatures against numpy's least squares", name, weeks, adjusted_change, 1e-8)


def compare(program):
    """One truth for each check."""
    checks = Checks(program)
    rng = np.random.default_rng(20_471)
    for part in (single_tests, several_jobs, plans_and_costs, other_quantities):
        part(checks, rng)
    return checks.passed


if __name__ == "__main__":
    results = compare(sys.argv[1])
    failures = results.count(False)
    verdict = "FAILED" if failures else "ok"
    counts = f"{results.count(True)} passed; {failures} failed; 0 ignored; 0 measured; 0 filtered out"
    print(f"\ntest result: {verdict}. {counts}")
    sys.exit(1 if failures else 0)
