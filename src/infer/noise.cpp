// SPDX-License-Identifier: Apache-2.0
// Each broad density is a mixture of where a slipped probe or an undrawn fault tends to leave a meter: near nothing,
// near the supply, anywhere between; a Cauchy term keeps it above zero far outside. Shares and widths are ours.
#include "infer/noise.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "infer/robust_normal.h"

namespace halfsplit::infer {

namespace {

using evidence::Kind;

double laplace(double x, double middle, double width) {
  return std::exp(-std::fabs(x - middle) / width) / (2.0 * width);
}

double uniform(double x, double low, double high) { return x < low || x > high ? 0.0 : 1.0 / (high - low); }

double log_uniform(double x, double low, double high) {
  return x < low || x > high ? 0.0 : 1.0 / (x * std::log(high / low));
}

double cauchy(double x, double middle, double width) {
  const double z = (x - middle) / width;
  return 1.0 / (std::numbers::pi * width * (1.0 + z * z));
}

// What each of them has below x.
double laplace_below(double x, double middle, double width) {
  const double tail = 0.5 * std::exp(-std::fabs(x - middle) / width);
  return x < middle ? tail : 1.0 - tail;
}

double uniform_below(double x, double low, double high) { return std::clamp((x - low) / (high - low), 0.0, 1.0); }

double log_uniform_below(double x, double low, double high) {
  return x <= low ? 0.0 : std::min(1.0, std::log(x / low) / std::log(high / low));
}

double cauchy_below(double x, double middle, double width) {
  return 0.5 + std::atan((x - middle) / width) / std::numbers::pi;
}

double normal_below(double x, double mean, double sigma) {
  return 0.5 * std::erfc((mean - x) / (sigma * std::numbers::sqrt2));
}

// A lead on a dead wire, on the live one, somewhere in between, red and black exchanged, or a strange figure.
// The supply stands a little above the system's name: 25.2 V at rest and up to 28.5 V charging in a 24 V vehicle.
double broad_volts(double x, double system) {
  return 0.33 * laplace(x, 0.0, 0.003 * system) + 0.20 * normal_density(x, 1.05 * system, 0.06 * system) +
         0.43 * uniform(x, -0.1 * system, 1.25 * system) + 0.02 * uniform(x, -1.25 * system, 0.0) +
         0.02 * cauchy(x, 0.0, system);
}

double broad_volts_below(double x, double system) {
  return 0.33 * laplace_below(x, 0.0, 0.003 * system) + 0.20 * normal_below(x, 1.05 * system, 0.06 * system) +
         0.43 * uniform_below(x, -0.1 * system, 1.25 * system) + 0.02 * uniform_below(x, -1.25 * system, 0.0) +
         0.02 * cauchy_below(x, 0.0, system);
}

// Without OL: a bridge through wire, or any resistance a vehicle has.
double broad_ohms(double x) {
  return 0.22 * laplace(x, 0.2, 0.3) + 0.76 * log_uniform(x, 0.1, 1.0e7) + 0.02 * cauchy(x, 0.0, 1.0e3);
}

double broad_ohms_below(double x) {
  return 0.22 * laplace_below(x, 0.2, 0.3) + 0.76 * log_uniform_below(x, 0.1, 1.0e7) +
         0.02 * cauchy_below(x, 0.0, 1.0e3);
}

// The jaw round an idle wire, or round one that carries anything from a lamp to a starter, either way.
double broad_clamp(double x) {
  return 0.45 * laplace(x, 0.0, 0.1) + 0.53 * 0.5 * log_uniform(std::fabs(x), 0.05, 300.0) +
         0.02 * cauchy(x, 0.0, 10.0);
}

double broad_clamp_below(double x) {
  const double either_way =
      x < 0.0 ? 1.0 - log_uniform_below(-x, 0.05, 300.0) : 1.0 + log_uniform_below(x, 0.05, 300.0);
  return 0.45 * laplace_below(x, 0.0, 0.1) + 0.53 * 0.5 * either_way + 0.02 * cauchy_below(x, 0.0, 10.0);
}

double span_of(const Scale& scale) { return scale.high > scale.low ? scale.high - scale.low : 1.0; }

// Anywhere on the scale, often at an end, where open and shorted senders rest.
double broad_live(double x, const Scale& scale) {
  const double span = span_of(scale);
  return 0.20 * normal_density(x, scale.low, 0.01 * span) + 0.20 * normal_density(x, scale.low + span, 0.01 * span) +
         0.58 * uniform(x, scale.low, scale.low + span) + 0.02 * cauchy(x, scale.low + 0.5 * span, span);
}

double broad_live_below(double x, const Scale& scale) {
  const double span = span_of(scale);
  return 0.20 * normal_below(x, scale.low, 0.01 * span) + 0.20 * normal_below(x, scale.low + span, 0.01 * span) +
         0.58 * uniform_below(x, scale.low, scale.low + span) + 0.02 * cauchy_below(x, scale.low + 0.5 * span, span);
}

// Share of OL, or of "no value shown".
double over_range_mass(Kind kind) {
  switch (kind) {
    case Kind::kOhms:
      return 0.3;
    case Kind::kLive:
      return 0.05;
    default:
      return 0.001;
  }
}

double broad_numeric(const Reading& reading, const Noise& noise) {
  const double x = reading.seen.value;
  switch (reading.kind) {
    case Kind::kVolts:
    case Kind::kHighest:
    case Kind::kLowest:
      return broad_volts(x, noise.system_volts);
    case Kind::kOhms:
      return broad_ohms(x);
    case Kind::kClamp:
      return broad_clamp(x);
    default:
      return broad_live(x, reading.scale);
  }
}

// Active, past, absent. A fault that has nothing to do with the drawing sets a code or two and leaves about one in
// memory, however many the vehicle knows: a reader lists them all, so each of many is the less likely.
constexpr double kActiveElsewhere = 2.0, kPastElsewhere = 1.2;  // codes, expected
std::array<double, 3> broad_code(std::size_t codes) {
  const double known = static_cast<double>(std::max<std::size_t>(codes, 1));
  const double active = std::min(0.25, kActiveElsewhere / known), past = std::min(0.15, kPastElsewhere / known);
  return {active, past, 1.0 - active - past};
}

// By index into evidence::categories(). A lamp or buzzer whose probe slipped is silent; most codes are absent and most
// wiggles change nothing whatever is wrong.
std::array<double, 3> broad_categories(Kind kind, const Noise& noise) {
  switch (kind) {
    case Kind::kContinuity:
      return {0.4, 0.6, 0.0};
    case Kind::kTestLamp:
      return {0.35, 0.15, 0.5};
    case Kind::kCode:
      return broad_code(noise.codes);
    case Kind::kLook:
      return {0.45, 0.2, 0.35};
    case Kind::kAnswers:
      return {0.7, 0.3, 0.0};
    case Kind::kHeard:
      return {0.8, 0.2, 0.0};
    case Kind::kHears:
      return {0.85, 0.15, 0.0};
    case Kind::kQuiet:  // one group of many that might have been
      return {0.01, 0.01, 0.98};
    case Kind::kInspect:
      return {0.15, 0.85, 0.0};
    default:  // kWiggle, kHeat, kCool
      return {0.1, 0.9, 0.0};
  }
}

double broad_category(const Reading& reading, const Noise& noise) {
  const std::size_t words = evidence::categories(reading.kind).size();
  const int category = reading.seen.category;
  HS_CHECK(category >= 0 && static_cast<std::size_t>(category) < words, "a seen category is one of the kind's words");
  return broad_categories(reading.kind, noise)[static_cast<std::size_t>(category)];
}

}  // namespace

double wrong_share(Kind kind, const Noise& noise) {
  switch (kind) {
    case Kind::kVolts:
    case Kind::kHighest:
    case Kind::kLowest:
    case Kind::kOhms:
    case Kind::kContinuity:
    case Kind::kClamp:
    case Kind::kTestLamp:
      return noise.mis_probe;
    default:
      return noise.misread;
  }
}

// Percent and counts of a handheld meter (common practice), taken as about two to three sigma.
double smallest_sigma(const Reading& reading) {
  const double size = std::fabs(reading.seen.value);
  switch (reading.kind) {
    case Kind::kVolts:
    case Kind::kHighest:
    case Kind::kLowest:
      return 0.003 + 0.002 * size;
    case Kind::kOhms:
      return 0.1 + 0.005 * size;
    case Kind::kClamp:
      return 0.05 + 0.01 * size;
    default:
      return 0.003 * span_of(reading.scale);
  }
}

double broad_density(const Reading& reading, const Noise& noise) {
  if (!evidence::is_numeric(reading.kind)) return broad_category(reading, noise);
  const double over_range = over_range_mass(reading.kind);
  if (reading.seen.over_range) return over_range;
  HS_CHECK(std::isfinite(reading.seen.value), "a seen value is a finite number");
  HS_CHECK(noise.system_volts > 0.0, "system volts are above zero");
  return std::max(kLeastDensity, (1.0 - over_range) * broad_numeric(reading, noise));
}

double sharpest_density(const Reading& reading) {
  if (!evidence::is_numeric(reading.kind) || reading.seen.over_range) return 1.0;
  return robust_normal_peak(smallest_sigma(reading));
}

double broad_below(Kind kind, const Scale& scale, const Noise& noise, double x) {
  const double numbers = 1.0 - over_range_mass(kind);
  switch (kind) {
    case Kind::kVolts:
    case Kind::kHighest:
    case Kind::kLowest:
      return numbers * broad_volts_below(x, noise.system_volts);
    case Kind::kOhms:
      return numbers * broad_ohms_below(x);
    case Kind::kClamp:
      return numbers * broad_clamp_below(x);
    default:
      return numbers * broad_live_below(x, scale);
  }
}

double peak_density(const Reading& reading, const Noise& noise) {
  const double wrong = wrong_share(reading.kind, noise);
  const double broad = broad_density(reading, noise);
  return wrong * broad + (1.0 - wrong) * std::max(broad, sharpest_density(reading));
}

Levels compute_levels(const Reading& reading, const Noise& noise) {
  return {wrong_share(reading.kind, noise), broad_density(reading, noise),
          evidence::is_numeric(reading.kind) ? smallest_sigma(reading) : 0.0, sharpest_density(reading)};
}

double worst_factor(const Reading& reading, const Noise& noise) {
  return wrong_share(reading.kind, noise) * broad_density(reading, noise) / peak_density(reading, noise);
}

}  // namespace halfsplit::infer
