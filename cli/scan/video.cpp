#include "cli/scan/video.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>
#include <thread>

#include "cli/photos/film.h"
#include "cli/photos/stock.h"
#include "cli/photos/words.h"

namespace rackside::cli {

using namespace core;
using Json = nlohmann::json;

namespace {

/// As many pictures as there are cores, read side by side and taken in their order.
bool walk_on(Film& film, Walk& walk, std::size_t& count) {
  std::vector<Film::Frame> frames;
  while (frames.size() < std::max(1U, std::thread::hardware_concurrency())) {
    auto frame = film.next();
    if (!frame) break;
    frames.push_back(std::move(*frame));
  }
  std::vector<labels::PictureReading> readings(frames.size());
  std::vector<std::thread> threads;
  for (std::size_t i = 0; i < frames.size(); ++i)
    threads.emplace_back([&, i] { readings[i] = labels::read_symbols(frames[i].image); });
  for (std::thread& thread : threads) thread.join();
  for (std::size_t i = 0; i < frames.size(); ++i) walk.add(readings[i], frames[i].seconds);
  count += frames.size();
  return !frames.empty();
}

std::string time_text(double seconds) {
  const int whole = static_cast<int>(seconds);
  return fmt::format("{}:{:02}.{}", whole / 60, whole % 60, static_cast<int>((seconds - whole) * 10));
}

std::string names(const std::vector<Named>& all) {
  std::string text;
  for (const Named& one : all) text += (text.empty() ? "" : ", ") + one.label;
  return text;
}

void list_seen(Session& session, Reader& reader, const std::vector<Walk::Seen>& seen) {
  std::vector<std::vector<std::string>> rows;
  for (const Walk::Seen& one : seen) {
    const auto thing = reader.thing_of(one.code);
    const std::string name = thing ? reader.named(*thing).kind + " " + reader.label(*thing) : "not in this book";
    rows.push_back({time_text(one.first), Code(*read_code(one.code).code).spaced(), session.terminal.name(name),
                    session.terminal.faint(fmt::format("in {} picture{}", one.times, one.times == 1 ? "" : "s"))});
  }
  session.terminal.table(rows);
}

void list_stock(const Terminal& out, const StockTake& stock) {
  if (!stock.racks.empty()) out.heading("Stock-take of " + names(stock.racks));
  for (const auto& one : stock.misplaced)
    out.warn(one.animal.label + " is misplaced: its card hangs at " + one.seen_at.label + ", the book has it " +
             (one.book.empty() ? "nowhere" : "at " + names(one.book)));
  for (const auto& one : stock.missing)
    out.warn(one.animal.label + " is missing: the book has it at " + one.place.label + ", its card was not seen");
  for (const auto& code : stock.unknown) out.warn(code + " is unknown: no thing of this book has that code");
  if (!stock.unseen_places.empty()) out.warn("places not seen: " + names(stock.unseen_places));
  if (!stock.without_cards.empty())
    out.line(out.faint("no animal's card was read at " + names(stock.without_cards) +
                       ", so nobody is called missing there"));
  if (stock.misplaced.empty() && stock.missing.empty() && stock.unknown.empty() && stock.unseen_places.empty())
    out.good("all is as the book has it");
}

Json named_json(const Named& named) {
  return {{"code", named.code}, {"short", named.label}};
}

Json named_json(const std::vector<Named>& all) {
  Json out = Json::array();
  for (const Named& one : all) out.push_back(named_json(one));
  return out;
}

Json stock_json(const Walk& walk, const StockTake& stock) {
  Json seen = Json::array();
  for (const Walk::Seen& one : walk.seen())
    seen.push_back({{"code", one.code}, {"first_s", one.first}, {"last_s", one.last}, {"pictures", one.times}});
  Json misplaced = Json::array();
  for (const auto& one : stock.misplaced)
    misplaced.push_back(
        {{"animal", named_json(one.animal)}, {"seen_at", named_json(one.seen_at)}, {"book", named_json(one.book)}});
  Json missing = Json::array();
  for (const auto& one : stock.missing)
    missing.push_back({{"animal", named_json(one.animal)}, {"place", named_json(one.place)}});
  Json unread = Json::array();
  for (const auto& one : walk.missed())
    unread.push_back({{"first_s", one.first}, {"last_s", one.last}, {"why", advice_for(one.why)}});
  return {{"seen", seen},
          {"racks", named_json(stock.racks)},
          {"found", named_json(stock.found)},
          {"misplaced", misplaced},
          {"missing", missing},
          {"unknown", stock.unknown},
          {"places_not_seen", named_json(stock.unseen_places)},
          {"unread", unread}};
}

}  // namespace

Walk walk_along(Session& session, const std::string& source, double per_second) {
  Film film(source, per_second);
  Walk walk;
  std::size_t count = 0;
  while (walk_on(film, walk, count)) session.terminal.progress("reading the film, pictures", count, 0);
  session.terminal.end_progress();
  if (walk.seen().empty())
    throw Error(Fault::nothing_read, "No code was found in " + source + fmt::format(" ({} pictures of it)", count) +
                                         ". Walk closer to the labels and slower.");
  return walk;
}

void tell_stock(Session& session, const Walk& walk) {
  Reader reader = session.reader();
  const std::vector<Walk::Seen> seen = walk.seen();
  const StockTake stock = take_stock(reader, seen, session.now());
  if (session.json) return session.terminal.line(stock_json(walk, stock).dump());
  list_seen(session, reader, seen);
  for (const Walk::Missed& one : walk.missed())
    session.terminal.warn(fmt::format("a label at {} to {} was never read: {}", time_text(one.first),
                                      time_text(one.last), advice_for(one.why)));
  list_stock(session.terminal, stock);
}

}  // namespace rackside::cli
