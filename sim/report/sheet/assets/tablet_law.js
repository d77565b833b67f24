"use strict";
// Does what a meter showed lie where it was predicted? The same law as sim/studies/readings.cpp
// and sim/report/sheet/judged_blanks.cpp; tests/browser/law_cases.json holds all to the same cases.
const tabletLaw = (() => {
  const PREFIX = new Map([["", 1], ["u", 1e-6], ["m", 1e-3], ["k", 1e3], ["M", 1e6]]);
  const LARGEST = 1e12;
  const WEIGHT = { inside: 0, "no verdict": 1, outside: 2, stop: 3 };

  function plainLetters(text) {
    return text
      .replace(/\u2212/g, "-")
      .replace(/[\u00b5\u03bc]/g, "u")
      .replace(/[\u00a0\u202f]/g, " ")
      .replace(/^[ \t\r\n]+|[ \t\r\n]+$/g, "");
  }

  // Why the digits are no plain number; empty when nothing is doubtful about them.
  function numberFault(digits) {
    const separators = digits.replace(/[^.,]/g, "");
    if (separators.length > 1) {
      return "more than one comma or point; write it without thousands separators, e.g. 1250 or 1.25 k";
    }
    const comma = /^[+-]?([0-9]*),(.*)$/.exec(digits);
    if (comma && comma[2].length === 3 && /[^0]/.test(comma[1])) {
      return "a comma before three digits can mean two things; write 1250 or 1.25";
    }
    return "";
  }

  // {value, fault}: the value in the blank's unit, or what is wrong with the text.
  function readWritten(text, unit) {
    const plain = plainLetters(text);
    const base = unit.split(" ")[0];
    if (base === "ohm" && ["OL", "O.L", "open"].includes(plain)) {
      return { value: LARGEST, fault: "" };
    }
    const digits = /^[0-9.,+-]*/.exec(plain)[0];
    const doubt = numberFault(digits);
    if (doubt) {
      return { value: null, fault: doubt };
    }
    if (!/^[+-]?([0-9]+[.,]?[0-9]*|[.,][0-9]+)$/.test(digits)) {
      return { value: null, fault: "no number; write digits, e.g. 610, 0.39 or 1.2 k" };
    }
    const tail = plain.slice(digits.length).replace(/^[ \t\r\n]+/, "");
    const stem = base !== "" && tail.endsWith(base) ? tail.slice(0, -base.length) : tail;
    const factor = PREFIX.get(stem);
    if (factor === undefined) {
      return {
        value: null,
        fault: `the letters after the number are not understood; write ${base || "no unit"} or nothing, with u, m, k or M before it`,
      };
    }
    const value = Number(digits.replace(",", ".")) * factor;
    return Math.abs(value) <= LARGEST
      ? { value, fault: "" }
      : { value: null, fault: "too large for a reading; correct it" };
  }

  // limits: {low, high, stop_below, stop_above}, each a number or null.
  function judge(limits, value) {
    if (!Number.isFinite(value)) {
      return "no verdict";
    }
    if (
      (limits.stop_below != null && value < limits.stop_below) ||
      (limits.stop_above != null && value > limits.stop_above)
    ) {
      return "stop";
    }
    if (limits.low == null || limits.high == null) {
      return "no verdict";
    }
    return value >= limits.low && value <= limits.high ? "inside" : "outside";
  }

  // The figure of a derived check; null when one of the others is not there, or is no divisor.
  // valueOf(id) gives the number in another blank, or null; an empty id is the chassis, 0.
  function derived(check, value, valueOf) {
    const other = check.other === "" ? 0 : valueOf(check.other);
    const base = check.base === "" ? 0 : valueOf(check.base);
    if (other === null || base === null) {
      return null;
    }
    if (check.kind === "times") {
      return value * other;
    }
    const divisor = check.kind === "share" ? other - base : other;
    const part = check.kind === "share" ? value - base : value;
    return divisor === 0 ? null : part / divisor;
  }

  // {worst, own, checks: [{check, value, judgement}]} of one blank.
  function judgeBlank(blank, value, valueOf) {
    const own = judge(blank.limits, value);
    const checks = [];
    for (const check of blank.checks) {
      const figure = derived(check, value, valueOf);
      if (figure !== null) {
        checks.push({ check, value: figure, judgement: judge(check, figure) });
      }
    }
    const worst = checks.reduce((a, c) => (WEIGHT[c.judgement] > WEIGHT[a] ? c.judgement : a), own);
    return { worst, own, checks };
  }

  return { readWritten, judge, derived, judgeBlank, weight: (judgement) => WEIGHT[judgement] };
})();
