// SPDX-License-Identifier: Apache-2.0
// A value or the diagnostics that say why there is none. What users can cause travels as a Result; what only a bug can
// cause is an HS_CHECK (check.h). A Result that holds a value may carry warnings beside it.
#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "base/check.h"
#include "base/diagnostic.h"

namespace halfsplit::base {

template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value) : value_(std::move(value)) {}
  Result(T value, std::vector<Diagnostic> notes) : value_(std::move(value)), diagnostics_(std::move(notes)) {}
  Result(Diagnostic error) { diagnostics_.push_back(std::move(error)); }
  Result(std::vector<Diagnostic> errors) : diagnostics_(std::move(errors)) {
    HS_CHECK(!diagnostics_.empty(), "a failed Result says why");
  }

  [[nodiscard]] bool ok() const { return value_.has_value(); }
  explicit operator bool() const { return ok(); }

  [[nodiscard]] const T& value() const& {
    HS_CHECK(value_.has_value(), "value() of a failed Result");
    return *value_;
  }
  [[nodiscard]] T& value() & {
    HS_CHECK(value_.has_value(), "value() of a failed Result");
    return *value_;
  }
  [[nodiscard]] T&& value() && {
    HS_CHECK(value_.has_value(), "value() of a failed Result");
    return *std::move(value_);
  }
  const T& operator*() const& { return value(); }
  T& operator*() & { return value(); }
  const T* operator->() const { return &value(); }
  T* operator->() { return &value(); }

  // Errors when failed, warnings and notes when not.
  [[nodiscard]] const std::vector<Diagnostic>& diagnostics() const { return diagnostics_; }

 private:
  std::optional<T> value_;
  std::vector<Diagnostic> diagnostics_;
};

// The reply of something that yields nothing but success or reasons.
struct Done {};

}  // namespace halfsplit::base
