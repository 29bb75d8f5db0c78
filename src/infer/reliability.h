// SPDX-License-Identifier: Apache-2.0
// Are probabilities worth their name? Claims ("this, with 70 %") against what was true: in bins, as expected
// calibration error (mean gap between said and true share, weighed by claims; Naeini, Cooper, Hauskrecht, "Obtaining
// Well Calibrated Probabilities Using Bayesian Binning", AAAI 2015), and as Brier score (mean square of said minus
// true; Brier, "Verification of forecasts expressed in terms of probability", Monthly Weather Review 78, 1950). Both
// from memory.
#pragma once

#include <array>
#include <cstddef>

namespace halfsplit::infer {

class Reliability {
 public:
  static constexpr std::size_t kBins = 20;  // equally wide; 1 is in the last

  struct Bin {
    double said = 0.0;  // sum of the probabilities said
    std::size_t right = 0, claims = 0;
    [[nodiscard]] double mean_said() const { return claims == 0 ? 0.0 : said / static_cast<double>(claims); }
    [[nodiscard]] double share_right() const {
      return claims == 0 ? 0.0 : static_cast<double>(right) / static_cast<double>(claims);
    }
  };

  void add(double probability, bool right);  // probability from 0 to 1; what rounding leaves outside is cut
  [[nodiscard]] const std::array<Bin, kBins>& bins() const { return bins_; }
  [[nodiscard]] Bin all() const;  // every claim as one bin
  // Of no claims at all the three are 0.
  [[nodiscard]] double calibration_error() const;
  [[nodiscard]] double brier() const;
  [[nodiscard]] double brier_of_base_rate() const;  // of always saying the share that is right

 private:
  std::array<Bin, kBins> bins_{};
  double squares_ = 0.0;
};

}  // namespace halfsplit::infer
