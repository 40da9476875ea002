#pragma once

#include <string>

#include "cli/session.h"
#include "core/read/genes.h"
#include "core/read/today.h"

// How the program says what the book knows: the trade's words, in one place for all verbs.
namespace rackside::cli {

/// "♂", "♀" or "?".
std::string sex_sign(const std::string& sex);
/// A trade count: males.females.unsexed.
std::string trade_count(int males, int females, int unsexed);
/// An event for people: "ate 2 × small-rat", "paired with C-02 at B-07", "laid 7 good, 1 slug".
std::string sentence_of(core::Reader& reader, const core::StoryLine& line);
/// How a statement is known: "as bought", "by parents"; empty where nobody said.
std::string basis_text(std::string_view basis);
/// What a question asks, the belief held meanwhile, and an answer's meaning.
std::string question_text(core::Reader& reader, const core::Question& question);
std::string belief_text(core::Reader& reader, const core::Question& question);
std::string answer_text(core::Reader& reader, const core::Question& question, const std::string& answer);
/// One account of a question: who, when, what.
/// How far the clock behind an entry was off, where it was put right: "clock 1 day ahead, put right"; else empty.
std::string correction_text(const core::StoryLine& line);
std::string account_text(Session& session, core::Reader& reader, const core::EventRef& ref);
using core::gene_lines;
using core::GeneLines;

}  // namespace rackside::cli
