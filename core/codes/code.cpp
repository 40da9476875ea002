#include "core/codes/code.h"

#include <algorithm>

namespace rackside::core {

/// The only maker of codes: everything it is given was checked.
struct CodeAccess {
  static Code make(std::string_view text) {
    Code code;
    std::copy_n(text.begin(), Code::kLength, code.text_.begin());
    return code;
  }
};

namespace {

// 0-9 A-Z without I, L, O, U: 32 characters, so that five random bits are one character.
constexpr std::string_view kAlphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
constexpr std::string_view kLookAlikes = "ILOU";

constexpr std::array<CodeKindInfo, 8> kKinds = {{
    {CodeKind::animal, "animal"},
    {CodeKind::clutch, "clutch"},
    {CodeKind::egg_box, "egg box"},
    {CodeKind::group, "group"},
    {CodeKind::helper, "helper"},
    {CodeKind::rack, "rack"},
    {CodeKind::shortcut, "scan sheet entry"},
    {CodeKind::place, "place"},
}};

bool in_alphabet(char c) {
  return kAlphabet.find(c) != std::string_view::npos;
}
bool is_space(char c) {
  return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}
char upper(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
}

/// The value of a character in ISO/IEC 7064's alphanumeric set, or -1.
int value_of(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'A' && c <= 'Z') return c - 'A' + 10;
  return -1;
}

char character_of(int value) {
  return static_cast<char>(value < 10 ? '0' + value : 'A' + value - 10);
}

bool is_valid_code(std::string_view text) {
  return text.size() == Code::kLength && code_kind_of_letter(text[0]).has_value() &&
         std::all_of(text.begin(), text.end(), in_alphabet) && mod37_36_valid(text);
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
  return text;
}

char without_look_alike(char c) {
  if (c == 'O') return '0';
  return c == 'I' || c == 'L' ? '1' : c;
}

struct Candidate {
  std::string text;           ///< upper case, look-alikes replaced, separators gone
  bool is_deep_link = false;  ///< an address with more than one path segment: nothing that we print
};

Candidate candidate_of(std::string_view text) {
  Candidate out;
  text = trimmed(text);
  if (const auto scheme = text.find("://"); scheme != std::string_view::npos) {
    const std::string_view rest = text.substr(scheme + 3);
    const auto host_end = rest.find('/');
    if (host_end == std::string_view::npos) return out;
    const std::string_view path = rest.substr(host_end + 1, rest.find_first_of("?#") - host_end - 1);
    const auto last = path.rfind('/');
    out.is_deep_link = last != std::string_view::npos;
    text = out.is_deep_link ? path.substr(last + 1) : path;
  }
  for (const char c : text)
    if (c != '-' && !is_space(c)) out.text += without_look_alike(upper(c));
  return out;
}

void add_if_valid(const std::string& text, std::vector<Code>& out) {
  if (!is_valid_code(text)) return;
  const Code code = CodeAccess::make(text);
  if (std::find(out.begin(), out.end(), code) == out.end()) out.push_back(code);
}

void add_substitutions(const std::string& text, std::size_t position, std::vector<Code>& out) {
  for (const char c : kAlphabet) {
    std::string changed = text;
    changed[position] = c;
    add_if_valid(changed, out);
  }
}

/// Neighbour swaps first: a typing slip is likelier than a misread character that is no look-alike.
std::vector<Code> near_codes(const std::string& text) {
  std::vector<Code> out;
  for (std::size_t i = 0; i + 1 < text.size(); ++i) {
    std::string swapped = text;
    std::swap(swapped[i], swapped[i + 1]);
    add_if_valid(swapped, out);
  }
  for (std::size_t i = 0; i < text.size(); ++i) add_substitutions(text, i, out);
  return out;
}

/// True when two different neighbours can be swapped without the check character noticing.
bool has_silent_swap(const std::string& text) {
  for (std::size_t i = 0; i + 1 < text.size(); ++i) {
    std::string swapped = text;
    std::swap(swapped[i], swapped[i + 1]);
    if (swapped != text && is_valid_code(swapped)) return true;
  }
  return false;
}

using Problem = CodeReading::Problem;

CodeReading failed(Problem problem, std::string message, std::vector<Code> might_have_been = {}) {
  return {std::nullopt, problem, std::move(message), std::move(might_have_been)};
}

CodeReading not_a_code() {
  return failed(Problem::not_a_code,
                "This is not a code of this program: a code has ten characters, 0-9 and A-Z without I, L, O and U.");
}

/// Ten characters of which `foreign` are outside the alphabet.
CodeReading bad_character(const std::string& text, std::ptrdiff_t foreign) {
  const auto position =
      static_cast<std::size_t>(std::find_if_not(text.begin(), text.end(), in_alphabet) - text.begin());
  if (foreign > 1 || value_of(text[position]) < 0) return not_a_code();
  std::vector<Code> near;
  add_substitutions(text, position, near);
  return failed(Problem::bad_character,
                "Character " + std::to_string(position + 1) + " of the code, " + text[position] +
                    ", is never used in codes. Look at the label again, or scan it.",
                std::move(near));
}

CodeReading bad_letter(const std::string& text) {
  return failed(Problem::bad_letter,
                std::string("No code begins with ") + text[0] +
                    ": the first character says what it names. Look at the label again, or scan it.",
                near_codes(text));
}

CodeReading bad_check(const std::string& text) {
  return failed(Problem::bad_check,
                "The check character of " + text +
                    " does not fit: a character is wrong, or two are swapped. Look at the label again, or scan it.",
                near_codes(text));
}

CodeReading judge(const std::string& text) {
  if (text.size() != Code::kLength) return not_a_code();
  const auto foreign = std::count_if(text.begin(), text.end(), [](char c) { return !in_alphabet(c); });
  if (foreign > 0) return bad_character(text, foreign);
  if (!code_kind_of_letter(text[0])) return bad_letter(text);
  if (!mod37_36_valid(text)) return bad_check(text);
  return {CodeAccess::make(text), Problem::none, {}, {}};
}

}  // namespace

std::span<const CodeKindInfo> code_kinds() {
  return kKinds;
}

std::optional<CodeKind> code_kind_of_letter(char letter) {
  for (const CodeKindInfo& row : kKinds)
    if (static_cast<char>(row.kind) == letter) return row.kind;
  return std::nullopt;
}

std::string_view word_of(CodeKind kind) {
  for (const CodeKindInfo& row : kKinds)
    if (row.kind == kind) return row.word;
  return "thing";
}

Code Code::generate(CodeKind kind, void (*random)(std::span<std::uint8_t>)) {
  for (;;) {
    std::array<std::uint8_t, kLength - 2> drawn{};
    random(drawn);
    std::string text(1, static_cast<char>(kind));
    for (const std::uint8_t byte : drawn) text += kAlphabet[byte & 31];
    text += *mod37_36_check(text);
    if (kLookAlikes.find(text.back()) == std::string_view::npos && !has_silent_swap(text))
      return CodeAccess::make(text);
  }
}

std::string Code::spaced() const {
  const std::string all = str();
  return all.substr(0, 4) + ' ' + all.substr(4, 4) + ' ' + all.substr(8);
}

CodeReading read_code(std::string_view text) {
  const Candidate candidate = candidate_of(text);
  CodeReading reading = judge(candidate.text);
  if (!reading.code && candidate.is_deep_link) return not_a_code();
  return reading;
}

// ISO/IEC 7064, hybrid system: P starts at M; for each character S = P + a, reduced to 1..M, then P = 2 S mod (M + 1).
std::optional<char> mod37_36_check(std::string_view text) {
  constexpr int kModulus = 36;
  int product = kModulus;
  for (const char c : text) {
    const int value = value_of(c);
    if (value < 0) return std::nullopt;
    int sum = (product + value) % kModulus;
    if (sum == 0) sum = kModulus;
    product = sum * 2 % (kModulus + 1);
  }
  return character_of((kModulus + 1 - product) % kModulus);
}

bool mod37_36_valid(std::string_view text) {
  if (text.empty()) return false;
  const auto check = mod37_36_check(text.substr(0, text.size() - 1));
  return check && *check == text.back();
}

}  // namespace rackside::core
