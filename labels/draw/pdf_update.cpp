#include "labels/draw/pdf_update.h"

#include <charconv>
#include <cstdio>
#include <optional>

namespace rackside::labels {
namespace {

std::optional<std::size_t> number_at(std::string_view text, std::size_t at) {
  std::size_t value = 0;
  while (at < text.size() && (text[at] == ' ' || text[at] == '\n' || text[at] == '\r')) ++at;
  const auto [end, fault] = std::from_chars(text.data() + at, text.data() + text.size(), value);
  if (fault != std::errc() || end == text.data() + at) return std::nullopt;
  return value;
}

/// The number behind the last `key`.
std::optional<std::size_t> number_after(std::string_view text, std::string_view key) {
  const std::size_t at = text.rfind(key);
  return at == std::string_view::npos ? std::nullopt : number_at(text, at + key.size());
}

/// What stands between the brackets of object `number`.
std::string_view dictionary_of(std::string_view text, std::size_t number) {
  const std::string head = "\n" + std::to_string(number) + " 0 obj\n<<";
  const std::size_t begin = text.rfind(head);
  if (begin == std::string_view::npos) return {};
  const std::size_t end = text.find("endobj", begin);
  if (end == std::string_view::npos) return {};
  const std::size_t close = text.rfind(">>", end);
  if (close == std::string_view::npos || close < begin + head.size()) return {};
  return text.substr(begin + head.size(), close - begin - head.size());
}

}  // namespace

std::string unscaled_update(std::string_view tail, std::size_t size) {
  const auto table = number_after(tail, "startxref");
  const auto root = number_after(tail, "/Root");
  const auto info = number_after(tail, "/Info");
  const auto count = number_after(tail, "/Size");
  if (!table || !root || !count || tail.rfind("trailer") == std::string_view::npos) return {};
  const std::string_view catalogue = dictionary_of(tail, *root);
  if (catalogue.find("/Catalog") == std::string_view::npos ||
      catalogue.find("/ViewerPreferences") != std::string_view::npos) {
    return {};
  }
  const std::string id = std::to_string(*root);
  std::string update = id + " 0 obj\n<<" + std::string(catalogue) +
                       "   /Version /1.6\n   /ViewerPreferences << /PrintScaling /None >>\n>>\nendobj\n";
  char entry[32];
  std::snprintf(entry, sizeof entry, "%010zu 00000 n \n", size);
  const std::size_t new_table = size + update.size();
  update += "xref\n" + id + " 1\n" + entry + "trailer\n<< /Size " + std::to_string(*count) + "\n   /Root " + id +
            " 0 R\n" + (info ? "   /Info " + std::to_string(*info) + " 0 R\n" : "") + "   /Prev " +
            std::to_string(*table) + "\n>>\nstartxref\n" + std::to_string(new_table) + "\n%%EOF\n";
  return update;
}

}  // namespace rackside::labels
