#include <fmt/format.h>

#include "cli/story/story.h"

namespace rackside::cli {
namespace {

constexpr const char* kStyle =
    "body{margin:0;background:#eceee9;color:#22303a;font:15px/1.5 'Noto Sans','DejaVu Sans',system-ui,sans-serif}"
    "main{max-width:960px;margin:0 auto;padding:24px 16px}"
    "svg{width:100%;height:auto;display:block}"
    "dl{display:grid;grid-template-columns:110px 1fr;gap:6px 16px;background:#fcfbf8;border-radius:10px;padding:18px "
    "28px;"
    "margin:16px 0}dt{font-weight:600;color:#6d7a83}dd{margin:0}"
    "table{width:100%;border-collapse:collapse;background:#fcfbf8;border-radius:10px;font-size:13.5px}"
    "th{text-align:left;color:#6d7a83;font-weight:600}th,td{padding:5px 10px;border-bottom:1px solid #dfe3e1;"
    "vertical-align:top}td:first-child,th:first-child{padding-left:28px;white-space:nowrap}"
    ".gone td{color:#8b959b;text-decoration:line-through}.gone td:last-child{text-decoration:none}"
    "footer{color:#6d7a83;font-size:12.5px;margin-top:14px}"
    "@page{size:A4;margin:12mm}@media print{body{background:#fff}main{padding:0;max-width:none}"
    "svg,dl{break-inside:avoid}tr{break-inside:avoid}thead{display:table-header-group}}";

}  // namespace

std::string life_page(const core::Life& life, const std::vector<std::vector<std::string>>& entries) {
  std::string out =
      "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width\">\n<title>" +
      escaped(life.animal.label + ": its story") + "</title>\n<style>" + kStyle + "</style>\n<main>\n" + life_svg(life);
  out += "<dl>\n";
  for (const auto& [heading, text] : life_facts(life))
    out += "<dt>" + escaped(heading) + "</dt><dd>" + escaped(text) + "</dd>\n";
  out += "</dl>\n<table>\n<thead><tr><th>When</th><th>Who</th><th>What</th><th></th></tr></thead>\n<tbody>\n";
  for (const auto& row : entries) {
    out += row.back().empty() ? "<tr>" : "<tr class=\"gone\">";
    for (const std::string& cell : row) out += "<td>" + escaped(cell) + "</td>";
    out += "</tr>\n";
  }
  return out +
         "</tbody>\n</table>\n<footer>Written by Rackside from its book. Nothing here is a diagnosis: where something "
         "looks "
         "wrong, look, and ask a veterinarian.</footer>\n</main>\n";
}

}  // namespace rackside::cli
