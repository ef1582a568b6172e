/**
 * A smooth function on from…to as the polynomial through its values at the Chebyshev points of so many, summed by
 * Clenshaw's recurrence: each value takes some multiplications. Clenshaw 1955, Math Tables Aids Comput 9:118–120.
 */
export function chebyshevOf(
  f: (x: number) => number,
  from: number,
  to: number,
  points: number,
): (x: number) => number {
  const [middle, half] = [(from + to) / 2, (to - from) / 2];
  const angle = (k: number): number => (Math.PI * (k + 1 / 2)) / points;
  const values = Array.from({ length: points }, (_, k) => f(middle + half * Math.cos(angle(k))));
  const coefficients = Float64Array.from({ length: points }, (_, j) => {
    const sum = values.reduce((total, value, k) => total + value * Math.cos(j * angle(k)), 0);
    return (2 / points) * sum;
  });
  return (x) => {
    const u = (x - middle) / half;
    let [one, two] = [0, 0];
    for (let j = points - 1; j > 0; j--) {
      const next = 2 * u * one - two + coefficients[j]!;
      two = one;
      one = next;
    }
    return u * one - two + coefficients[0]! / 2;
  };
}
