// How suspicion looks: the weight of a line and a percentage, never a colour.

export const leastShown = 0.005;
export const thin = 1.2;

export function weightOf(suspicion: number): number {
  return suspicion < leastShown ? thin : thin + 5 * Math.sqrt(Math.min(1, suspicion));
}
