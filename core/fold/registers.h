#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "core/fold/account.h"
#include "core/rules/rule.h"

namespace rackside::core {

/// One live edit of one field of one thing. The group holds the same accounts in the same order.
struct FieldFold {
  std::size_t believed = 0;             ///< index of the edit whose value is believed
  std::vector<std::size_t> candidates;  ///< edits that no other edit of the field names
  Verdict verdict;                      ///< asks where the field says so and candidates differ
};

/// Candidates are the edits that no other names, directly or through others; one: the value; several: the greatest
/// (sure, observed, device, seq, hash) is believed and the others shown, or a question where the field asks.
/// `values` are the edits' values as compact JSON. Requires at least one edit.
FieldFold fold_field(std::string_view field, const Group& edits, const std::vector<std::string>& values);

/// Fields where two accounts are a question: what an animal is, and which it is.
bool field_asks(std::string_view field);

}  // namespace rackside::core
