// Numbers for people, in the language of the screen. Readings themselves stay as the program writes them.

export interface Numbers {
  percent(share: number): string;
  /** One decimal at most. */
  figure(n: number): string;
  minutes(minutes: number): string;
  whole(count: number): string;
  money(sum: number): string;
  day(iso: string): string;
  time(iso: string): string;
}

/** Formatting of one language; made once for each. */
export function makeNumbers(language: string): Numbers {
  const whole = new Intl.NumberFormat(language, { maximumFractionDigits: 0 });
  const one = new Intl.NumberFormat(language, { maximumFractionDigits: 1 });
  const money = new Intl.NumberFormat(language, { minimumFractionDigits: 2, maximumFractionDigits: 2 });
  const day = new Intl.DateTimeFormat(language, { dateStyle: 'medium' });
  const time = new Intl.DateTimeFormat(language, { timeStyle: 'short' });
  const when = (iso: string, format: Intl.DateTimeFormat) => {
    const date = new Date(iso);
    return Number.isNaN(date.getTime()) ? iso : format.format(date);
  };
  return {
    // Never a plain 0 % or 100 %: nothing is certain.
    percent: (p) => (p < 0.01 ? '<1\u00a0%' : p > 0.99 ? '>99\u00a0%' : `${whole.format(Math.round(p * 100))}\u00a0%`),
    minutes: (m) => {
      const rounded = Math.round(m);
      if (rounded >= 60) return `${whole.format(Math.floor(rounded / 60))} h ${whole.format(rounded % 60)} min`;
      return `${m < 9.95 ? one.format(m) : whole.format(m)} min`;
    },
    whole: (n) => whole.format(n),
    figure: (n) => one.format(n),
    money: (n) => money.format(n),
    day: (iso) => when(iso, day),
    time: (iso) => when(iso, time),
  };
}
