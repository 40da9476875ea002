#include "cli/scan/photos.h"

#include <algorithm>

#include "cli/photos/batch.h"
#include "cli/photos/words.h"

namespace rackside::cli {

using namespace core;

namespace {

void add_once(std::vector<std::string>& all, const std::string& one) {
  if (std::find(all.begin(), all.end(), one) == all.end()) all.push_back(one);
}

/// What of a picture is worth telling beside its codes: a label that was seen and not read, and what is not ours.
void tell(Session& session, const std::string& path, const labels::PictureReading& reading) {
  Reader reader = session.reader();
  const auto label_of = [&](const Code& code) {
    const auto thing = reader.thing_of(code.text());
    return thing ? reader.label(*thing) : code.spaced();
  };
  for (const std::string& line : unread_lines(reading, label_of)) session.terminal.warn(path + ": not read: " + line);
  if (reading.foreign > 0)
    session.terminal.line(session.terminal.faint("  " + path + ": " + std::to_string(reading.foreign) +
                                                 " foreign symbol" + (reading.foreign == 1 ? "" : "s") + ", ignored"));
}

void take_one(Session& session, const std::string& path, const PictureOutcome& outcome, PhotoScan& out) {
  if (!outcome.reading) {
    out.problems.push_back(outcome.message);
    out.failure = outcome.fault;
    return;
  }
  tell(session, path, *outcome.reading);
  for (const labels::ReadSymbol& symbol : outcome.reading->symbols) add_once(out.codes, symbol.reading.code->str());
  if (!outcome.reading->symbols.empty()) return;
  out.problems.push_back("No code was found in " + path + ". Photograph the labels closer, sharper and without glare.");
  out.failure = Fault::nothing_read;
}

}  // namespace

void let_cards_beat_places(Session& session, std::vector<std::string>& codes) {
  Reader reader = session.reader();
  std::vector<Thing> with_card;
  for (const std::string& code : codes) {
    const auto thing = reader.thing_of(code);
    if (!thing || reader.named(*thing).kind != "animal") continue;
    for (const Lodging& lodging : reader.lodgings_of(*thing, session.now())) with_card.push_back(lodging.place);
  }
  std::erase_if(codes, [&](const std::string& code) {
    const auto thing = reader.thing_of(code);
    return thing && std::find(with_card.begin(), with_card.end(), *thing) != with_card.end();
  });
}

PhotoScan read_photos(Session& session, const std::vector<std::string>& names) {
  const std::vector<std::string> paths = pictures_of(names);
  PhotoScan out;
  out.pictures = paths.size();
  const auto take = [&](std::size_t number, const PictureOutcome& outcome) {
    session.terminal.end_progress();
    take_one(session, paths[number], outcome, out);
  };
  const auto progress = [&](std::size_t done) { session.terminal.progress("reading photos", done, paths.size()); };
  read_batch(paths, labels::ReadScope::codes, take, progress);
  session.terminal.end_progress();
  let_cards_beat_places(session, out.codes);
  return out;
}

}  // namespace rackside::cli
