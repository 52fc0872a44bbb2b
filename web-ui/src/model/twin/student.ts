// Student's t where intervals and the outlier test need it. The tail is the regularised incomplete beta function by its continued
// fraction (Lentz's way, as DLMF 8.17.22 and 3.10 give them), turned round by bisection; held to crates/statistics by
// unit/vectors/twin.json. Pure.

/** From here on the expansion around the normal distribution is exact enough, and the fraction is not. */
const MANY_DOF = 10_000;
/** The normal deviate that one value in forty exceeds. */
const NORMAL_975 = 1.959963984540054;
/** Terms of the fraction at most, and the least change that counts. */
const TERMS = 1000;
const LEAST = 1e-16;

/** What turns a standard uncertainty into half of a two-sided 95 % interval; `dof` above 0, also `Infinity`. */
export function coverage(dof: number): number {
  if (dof <= MANY_DOF) return tWithTail(0.025, dof);
  const z = NORMAL_975;
  const z2 = z * z;
  const first = ((z2 + 1) * z) / 4;
  const second = (((5 * z2 + 16) * z2 + 3) * z) / 96;
  const third = ((((3 * z2 + 19) * z2 + 17) * z2 - 15) * z) / 384;
  return z + (first + (second + third / dof) / dof) / dof;
}

/** What the farthest of `n` values may lie from their mean by chance, in standard deviations: Grubbs 1969, two-sided, 5 %; n ≥ 3. */
export function grubbsCritical(n: number): number {
  const t = tWithTail(0.05 / (2 * n), n - 2);
  return ((n - 1) / Math.sqrt(n)) * Math.sqrt((t * t) / (n - 2 + t * t));
}

/** The t, above 0, that is exceeded with probability `tail`, below one half. */
function tWithTail(tail: number, dof: number): number {
  const above = (t: number): number => 0.5 * betaShare(dof / 2, 0.5, dof / (dof + t * t));
  let [low, high] = [0, 1];
  while (above(high) > tail && high < 1e12) [low, high] = [high, high * 2];
  for (let step = 0; step < 100; step += 1) {
    const middle = (low + high) / 2;
    if (middle === low || middle === high) break;
    if (above(middle) > tail) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** The regularised incomplete beta function. */
function betaShare(a: number, b: number, x: number): number {
  if (x <= 0 || x >= 1) return x <= 0 ? 0 : 1;
  const front = Math.exp(lnGamma(a + b) - lnGamma(a) - lnGamma(b) + a * Math.log(x) + b * Math.log1p(-x));
  if (x < (a + 1) / (a + b + 2)) return (front * fraction(a, b, x)) / a;
  return 1 - (front * fraction(b, a, 1 - x)) / b;
}

function fraction(a: number, b: number, x: number): number {
  const kept = (value: number): number => (Math.abs(value) < 1e-300 ? 1e-300 : value);
  let c = 1;
  let d = 1 / kept(1 - ((a + b) * x) / (a + 1));
  let whole = d;
  for (let m = 1; m <= TERMS; m += 1) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    for (const term of [even, odd]) {
      d = 1 / kept(1 + term * d);
      c = kept(1 + term / c);
      whole *= d * c;
    }
    if (Math.abs(d * c - 1) < LEAST) break;
  }
  return whole;
}

/** ln Γ by Stirling's series (DLMF 5.11.1), moved up to where it is exact. */
function lnGamma(x: number): number {
  let [at, moved] = [x, 0];
  while (at < 20) {
    moved += Math.log(at);
    at += 1;
  }
  const r = 1 / (at * at);
  const series = (1 / 12 - r * (1 / 360 - r * (1 / 1260 - r * (1 / 1680 - r / 1188)))) / at;
  return (at - 0.5) * Math.log(at) - at + 0.5 * Math.log(2 * Math.PI) + series - moved;
}
