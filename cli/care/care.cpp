#include "cli/care/care.h"

#include <set>

#include "core/read/care.h"

namespace rackside::cli {

using namespace core;

namespace {

std::vector<std::string> field_values(Reader& reader, const std::string& name) {
  std::set<std::string> values;
  for (const Named& animal : reader.all("animal")) values.insert(reader.field(animal.thing, name));
  values.erase("");
  return {values.begin(), values.end()};
}

}  // namespace

void record_setting(Session& session, const std::string& key, Value value) {
  session.record({setting_draft(key, value, session.now())});
  Reader reader = session.reader();
  const std::string now = reader.setting(key);
  if (now == write_compact(value)) return;
  throw Error(Fault::bad_input,
              "Only a keeper's device changes what holds for all. It was recorded and has no effect: do it on the "
              "keeper's computer.");
}

void record_fields(Session& session, const Named& animal, const Value& set) {
  Reader reader = session.reader();
  std::vector<Answer> shown;
  for (const auto& [name, value] : *set.as_object()) {
    if (const auto source = reader.field_source(animal.thing, name)) shown.push_back({*source, Relation::saw});
  }
  session.record({{.kind = Kind::edited, .of = {animal.code}, .re = shown, .own = Value::Object{{"set", set}}}});
}

std::vector<std::string> species_in(Reader& reader) {
  return field_values(reader, "species");
}

std::vector<std::string> classes_in(Reader& reader) {
  return field_values(reader, "plan");
}

std::string list_of(const std::vector<std::string>& all) {
  std::string out;
  for (const std::string& one : all) out += (out.empty() ? "" : ", ") + one;
  return out;
}

}  // namespace rackside::cli
