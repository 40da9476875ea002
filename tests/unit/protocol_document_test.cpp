// The worked examples of sync/PROTOCOL.md, taken out of the document and run.
#include <sys/socket.h>
#include <unistd.h>

#include <thread>

#include "core/crypto/sha256.h"
#include "sync/hub/joining.h"
#include "sync/protocol/pipe.h"
#include "tests/support/catch.h"
#include "tests/support/program.h"
#include "tests/support/world.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;

namespace {

struct Example {
  std::string kind;      ///< the first word behind the fence
  std::string argument;  ///< the second
  std::string text;
};

std::vector<Example> examples(const std::string& kind) {
  const std::string document = read_text(RACKSIDE_SOURCE_DIR "/sync/PROTOCOL.md");
  std::vector<Example> out;
  std::istringstream lines(document);
  std::optional<Example> inside;
  for (std::string line; std::getline(lines, line);) {
    if (inside && line == "```") {
      if (inside->kind == kind) out.push_back(*inside);
      inside.reset();
    } else if (inside) {
      inside->text += line + "\n";
    } else if (line.starts_with("```")) {
      std::istringstream words(line.substr(3));
      inside.emplace();
      words >> inside->kind >> inside->argument;
    }
  }
  REQUIRE(!out.empty());
  return out;
}

constexpr std::int64_t kNow = 1'790'877'600'000;  // 2026-10-01 18:00 UTC

CollectionId collection_of_document() {
  const std::string stream = examples("stream").front().text;
  const Value first = parse_strict(stream.substr(0, stream.find('\n'))).value;
  return *array_from_hex<16>(first.text("collection"));
}

/// A book of the document's collection whose device is made from a name, so that its bytes are always the same.
Book book_of_document(const std::string& device) {
  return Book::create_member(":memory:", collection_of_document(), World::key(device), "", {kNow, 9, 0});
}

sync::Responder responder_of(Book& book) {
  return {book, "desk.book", [] { return ClockReading{kNow + 5, 9, 5}; }};
}

std::string pulled(Book& book, const sync::VectorMessage& asked) {
  std::string out;
  responder_of(book).pull(asked, [&](std::string_view piece) {
    out += piece;
    return true;
  });
  return out;
}

/// A text that is not the one its event names is left out, or its line is none at all.
int texts_after(Book& book, const std::string& stream) {
  try {
    responder_of(book).push(stream);
  } catch (const Error&) {
  }
  auto query = book.database().prepare("SELECT count(*) FROM sealed");
  return query.step() ? static_cast<int>(query.integer(0)) : -1;
}

Fault fault_of(const std::string& stream) {
  Book book = book_of_document("reader");
  try {
    responder_of(book).push(stream);
  } catch (const Error& error) {
    return error.fault();
  }
  FAIL("this was not refused: " << stream);
  return Fault::internal;
}

}  // namespace

TEST_CASE("the document's stream is stored, and sent on as the same bytes", "[protocol]") {
  for (const Example& example : examples("stream")) {
    Book book = book_of_document("reader");
    const sync::Receipt receipt = responder_of(book).push(example.text);
    CHECK(receipt.stored > 0);
    CHECK(receipt.known == 0);
    sync::VectorMessage asked{.collection = book.collection()};
    CHECK(pulled(book, asked) == example.text);
    CHECK(responder_of(book).push(example.text).stored == 0);
    CHECK(book.check().problems == std::vector<std::string>{});
  }
}

TEST_CASE("the document's stream, cut anywhere or with a byte changed, is noticed", "[protocol]") {
  const std::string stream = examples("stream").front().text;
  for (std::size_t cut = 0; cut < stream.size(); cut += 41) {
    Book book = book_of_document("reader");
    CHECK_THROWS_AS(responder_of(book).push(stream.substr(0, cut)), Error);
    CHECK(book.heads().empty());
  }
  for (std::size_t at = 0; at < stream.size(); at += 29) {
    std::string changed = stream;
    changed[at] = changed[at] == '7' ? '8' : '7';
    Book book = book_of_document("reader");
    INFO("byte " << at);
    const std::size_t line = stream.rfind('\n', at) + 1;
    if (changed.compare(line, 8, "{\"salt\":") == 0 && changed.compare(at, 1, "\n") != 0) {
      CHECK(texts_after(book, changed) == 0);
      continue;
    }
    CHECK_THROWS_AS(responder_of(book).push(changed), Error);
  }
}

TEST_CASE("what the document says is refused is refused as it says", "[protocol]") {
  for (const Example& example : examples("refused")) {
    INFO(example.text);
    CHECK(std::string(fault_info(fault_of(example.text)).name) == example.argument);
  }
  for (const Example& example : examples("error")) {
    const std::string line = example.text.substr(0, example.text.size() - 1);
    try {
      sync::throw_if_error(sync::parse_line(line));
      FAIL("no error was read");
    } catch (const Error& error) {
      CHECK(std::string(fault_info(error.fault()).name) == example.argument);
      CHECK(sync::error_line(error) == example.text);
    }
  }
}

TEST_CASE("the document's vectors, receipts and joinings are read and written alike", "[protocol]") {
  for (const Example& example : examples("vector"))
    CHECK(to_text(sync::vector_from_text(example.text)) == example.text);
  for (const Example& example : examples("receipt"))
    CHECK(to_text(sync::receipt_from_text(example.text)) == example.text);
  for (const Example& example : examples("join")) {
    auto request = sync::hub::join_request_from_text(example.text);
    CHECK(to_text(request) == example.text);
    CHECK(sync::hub::holds_its_key(request));
    request.name += "x";
    CHECK_FALSE(sync::hub::holds_its_key(request));
  }
  for (const Example& example : examples("joined")) {
    CHECK(to_text(sync::hub::join_answer_from_text(example.text)) == example.text);
  }
}

TEST_CASE("the document's conversation over a pipe goes as it says", "[protocol]") {
  for (const Example& example : examples("pipe")) {
    std::string said, expected;
    std::istringstream lines(example.text);
    for (std::string line; std::getline(lines, line);) (line.front() == '>' ? said : expected) += line.substr(2) + "\n";
    Book book = book_of_document("desk");
    responder_of(book).push(examples("stream").front().text);
    int ends[2];
    REQUIRE(::socketpair(AF_UNIX, SOCK_STREAM, 0, ends) == 0);
    REQUIRE(::write(ends[0], said.data(), said.size()) == static_cast<ssize_t>(said.size()));
    sync::Responder responder = responder_of(book);
    sync::serve_pipe(responder, ends[1], ends[1]);
    ::close(ends[1]);
    std::string answered(256 * 1024, '\0');
    std::size_t size = 0;
    for (ssize_t count = 0; (count = ::read(ends[0], answered.data() + size, answered.size() - size)) > 0;) {
      size += static_cast<std::size_t>(count);
    }
    ::close(ends[0]);
    CHECK(answered.substr(0, size) == expected);
  }
}

/// Not run with the others: prints the examples anew, for when a form is decided differently before the first release.
TEST_CASE("print the examples of the protocol's document", "[.][examples]") {
  Book::Founding founding{.keeper = "",
                          .zone = {{{0, 60}}},
                          .root = World::key("root"),
                          .device = World::key("hub"),
                          .keeper_code = World::code(CodeKind::helper, "keeper")};
  Book hub = Book::create(":memory:", founding, {kNow, 1, 0});
  Draft note{.kind = Kind::noted,
             .of = {World::animal("Ash")},
             .text = write_compact(Value::Object{{"note", "sheds \"clean\""}})};
  hub.record_one(note, {kNow + 1, 1, 1});
  hub.prepare_sync({kNow + 2, 1, 2});
  std::string stream;
  sync::Responder(hub, "", [] {
    return ClockReading{kNow, 1, 0};
  }).pull({.collection = hub.collection()}, [&](std::string_view piece) {
    stream += piece;
    return true;
  });
  std::printf("STREAM\n%sVECTOR\n%s", stream.c_str(),
              to_text(sync::describe(hub, "hub.book", {kNow + 2, 1, 2})).c_str());
  Book desk = Book::create_member(":memory:", hub.collection(), World::key("desk"), "", {kNow, 9, 0});
  responder_of(desk).push(stream);
  sync::VectorMessage asked = sync::describe(hub, "hub.book", {kNow + 2, 1, 2});
  const std::string answer = to_text(responder_of(desk).heads(asked));
  const std::string answer_pull = pulled(desk, asked);
  std::printf("HEADS\n%sANSWER\n%s", to_text(asked).c_str(), answer.c_str());
  std::printf("PULLED\n%s", answer_pull.c_str());
  sync::hub::JoinRequest request{{1, 2, 3}, World::key("laptop").public_key(), "cart in aisle 2", {}};
  request.signature =
      World::key("laptop").sign(as_bytes(sync::hub::join_message(request.secret, request.key, request.name)));
  std::printf("JOIN\n%s", to_text(request).c_str());
  std::printf("HUB %s COLLECTION %s\n", to_hex(hub.device()).c_str(), to_hex(hub.collection()).c_str());
}
