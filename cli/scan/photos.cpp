#include "cli/scan/photos.h"

#include <algorithm>

#include "labels/read/read.h"

namespace rackside::cli {

using namespace core;

namespace {

void add_once(std::vector<std::string>& all, const std::string& one) {
  if (std::find(all.begin(), all.end(), one) == all.end()) all.push_back(one);
}

void read_one(const std::string& path, PhotoScan& out) {
  try {
    const labels::PictureReading reading = labels::read_image_file(path);
    bool any = false;
    for (const labels::ReadSymbol& symbol : reading.symbols) {
      if (!symbol.reading.code) continue;
      any = true;
      add_once(out.codes, symbol.reading.code->str());
    }
    if (any) return;
    out.problems.push_back("No code was found in " + path +
                           ". Photograph the labels closer, sharper and without glare.");
    out.failure = Fault::nothing_read;
  } catch (const Error& error) {
    out.problems.emplace_back(error.what());
    out.failure = error.fault();
  }
}

/// A tub photographed with its animal's card must not be recorded twice: the card always beats the place.
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

}  // namespace

PhotoScan read_photos(Session& session, const std::vector<std::string>& paths) {
  PhotoScan out;
  std::size_t done = 0;
  for (const std::string& path : paths) {
    session.terminal.progress("reading photos", done++, paths.size());
    read_one(path, out);
  }
  session.terminal.end_progress();
  let_cards_beat_places(session, out.codes);
  return out;
}

}  // namespace rackside::cli
