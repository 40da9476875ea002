// Registers animals from a table: comma-separated values as RFC 4180 has them, the first line naming the columns
//   short, name, species, sex, hatched, prey, every, at, genes, sire, dam
// in any order, all but `short` optional. Genes are separated by semicolons and said to be as bought:
//   amel; het anery; 66 % het stripe; not hypo
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <regex>
#include <set>

#include "cli/label_source.h"
#include "cli/register/fields.h"
#include "cli/register/table.h"

namespace rackside::cli {
namespace {

using namespace core;

std::string trimmed(const std::string& text) {
  const auto begin = text.find_first_not_of(" \t");
  if (begin == std::string::npos) return {};
  return text.substr(begin, text.find_last_not_of(" \t") - begin + 1);
}

Error at_line(std::size_t line, const std::string& what) {
  return {Fault::bad_input, fmt::format("Line {} of the table: {} Nothing was recorded.", line, what)};
}

const std::set<std::string> kColumns = {"short", "name", "species", "sex",  "hatched", "prey",
                                        "every", "at",   "genes",   "sire", "dam"};

class Import {
 public:
  explicit Import(Session& session) : session_(session), reader_(session.reader()) {}

  std::size_t run(const std::vector<Row>& rows) {
    if (rows.empty())
      throw Error(Fault::bad_input, "The table is empty: its first line names the columns, `short` among them.");
    read_header(rows.front());
    for (std::size_t i = 1; i < rows.size(); ++i) {
      line_ = i + 1;
      register_animal(rows[i]);
    }
    for (std::size_t i = 1; i < rows.size(); ++i) {
      line_ = i + 1;
      add_statements(rows[i]);
    }
    session_.record(std::move(drafts_));
    return rows.size() - 1;
  }

 private:
  void read_header(const Row& header) {
    for (std::size_t i = 0; i < header.size(); ++i) {
      const std::string name = trimmed(header[i]);
      if (!kColumns.contains(name)) throw at_line(1, "there is no column “" + name + "”.");
      columns_[name] = i;
    }
    if (!columns_.contains("short")) throw at_line(1, "the column `short` is missing.");
  }

  std::string cell(const Row& row, const std::string& column) const {
    const auto found = columns_.find(column);
    return found == columns_.end() || found->second >= row.size() ? std::string() : trimmed(row[found->second]);
  }

  void register_animal(const Row& row) {
    AnimalOptions options{.short_id = cell(row, "short"),
                          .name = cell(row, "name"),
                          .species = cell(row, "species"),
                          .sex = cell(row, "sex"),
                          .hatched = cell(row, "hatched"),
                          .prey = cell(row, "prey"),
                          .every = cell(row, "every"),
                          .place = cell(row, "at")};
    if (options.short_id.empty()) throw at_line(line_, "the short ID is missing.");
    if (codes_.contains(options.short_id))
      throw at_line(line_, "“" + options.short_id + "” stands twice in the table.");
    try {
      refuse_known_short_id(session_, options.short_id);
      const Code code = session_.new_code(CodeKind::animal);
      codes_.emplace(options.short_id, code.str());
      drafts_.push_back(registration(Kind::animal, code, set_of(options)));
      if (options.place.empty()) return;
      const Named place = session_.find_place(options.place);
      drafts_.push_back({.kind = Kind::moved,
                         .of = {code.str()},
                         .place = place.code,
                         .re = believed_occupancy(reader_, 0, place.thing, session_.now())});
    } catch (const Error& error) {
      if (error.fault() == Fault::internal) throw;
      throw at_line(line_, error.what());
    }
  }

  void add_statements(const Row& row) {
    const std::string code = codes_.at(cell(row, "short"));
    std::istringstream genes(cell(row, "genes"));
    for (std::string gene; std::getline(genes, gene, ';');) {
      if (!trimmed(gene).empty()) state(code, gene_statement(trimmed(gene)));
    }
    for (const char* parent : {"sire", "dam"}) {
      const std::string label = cell(row, parent);
      if (!label.empty())
        state(code, Value::Object{{"basis", "bought"}, {"parent", parent}, {"animal", code_of(label)}});
    }
  }

  Value gene_statement(const std::string& text) const {
    static const std::regex possible(R"((\d{1,2}) *% +(pos(sible)? +)?het +(.+))");
    std::smatch match;
    if (std::regex_match(text, match, possible)) {
      return Value::Object{{"basis", "bought"},
                           {"gene", match[4].str()},
                           {"state", "possible-het"},
                           {"chance_percent", std::stoi(match[1])}};
    }
    for (const char* word : {"het", "not"}) {
      if (text.starts_with(std::string(word) + " "))
        return Value::Object{{"basis", "bought"}, {"gene", trimmed(text.substr(4))}, {"state", word}};
    }
    return Value::Object{{"basis", "bought"}, {"gene", text}, {"state", "visual"}};
  }

  std::string code_of(const std::string& label) {
    const auto found = codes_.find(label);
    return found != codes_.end() ? found->second : session_.find_animal(label).code;
  }

  void state(const std::string& code, Value own) {
    drafts_.push_back({.kind = Kind::says, .of = {code}, .own = std::move(own)});
  }

  Session& session_;
  Reader reader_;
  std::map<std::string, std::size_t> columns_;
  std::map<std::string, std::string> codes_;
  std::vector<Draft> drafts_;
  std::size_t line_ = 1;
};

}  // namespace

void import_animals(Session& session, const std::string& path) {
  const std::size_t count = Import(session).run(parse_table(read_file(path)));
  if (session.json) return session.terminal.line(nlohmann::json{{"animals", count}}.dump());
  session.terminal.good(fmt::format("{} animals registered.", count));
}

}  // namespace rackside::cli
