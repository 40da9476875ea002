// Real processes on loopback: a hub, laptops that join it, books that sync by every way there is.
#include <signal.h>
#include <sys/stat.h>

#include <fstream>

#include "sync/hub/joining.h"
#include "tests/support/catch.h"
#include "tests/support/hub_process.h"

using namespace rackside;
using namespace rackside::core;
using namespace rackside::tests;

namespace {

bool says(const Run& outcome, const std::string& text) {
  return (outcome.out + outcome.err).find(text) != std::string::npos;
}

std::vector<std::string> names_in(const Folder& folder) {
  std::vector<std::string> out;
  for (const auto& entry : std::filesystem::directory_iterator(folder.str())) out.push_back(entry.path().filename());
  return out;
}

}  // namespace

TEST_CASE("laptops join a hub, work apart, and end with one digest", "[sync]") {
  const Security security = GENERATE(Security::plain, Security::tls);
  const Folder folder;
  const std::string hub_book = (folder / "hub.book");
  found_book(hub_book, "Robin");
  HubProcess hub = start_hub(folder, hub_book, security);
  CHECK(hub.url.starts_with(security == Security::tls ? "https://127.0.0.1:" : "http://127.0.0.1:"));
  struct stat keys {};
  REQUIRE(::stat((hub_book + "-hub.keys").c_str(), &keys) == 0);
  CHECK((keys.st_mode & 0777) == 0600);

  const std::string one = (folder / "one.book");
  const std::string two = (folder / "two.book");
  for (const std::string& book : {one, two}) {
    const Run joined = join_hub(hub, hub_book, book, "helper", "Mira");
    INFO(joined.out << joined.err);
    CHECK(joined.status == 0);
  }
  record_feedings(one, 600);
  record_feedings(two, 300);
  record_feedings(hub_book, 50);  // beside the running hub
  for (const std::string& book : {one, two}) {
    const Run synced = run_rackside({"--book", book, "sync"});
    INFO(synced.out << synced.err);
    CHECK(synced.status == 0);
  }
  CHECK(digest_of(two) == digest_of(hub_book));
  CHECK_FALSE(digest_of(one) == digest_of(hub_book));  // it has not heard of what the other brought afterwards
  CHECK(run_rackside({"--book", one, "sync"}).status == 0);
  CHECK(digest_of(one) == digest_of(hub_book));

  const Run again = run_rackside({"--book", two, "--json", "sync"});
  CHECK(says(again, "\"round_trips\":1"));
  CHECK(says(again, "\"received\":0"));

  hub.process.signal(SIGTERM);
  CHECK(hub.process.wait() == 0);
  CHECK(std::filesystem::file_size(hub_book + "-wal") == 0);  // checkpointed
  for (const std::string& book : {one, two, hub_book}) {
    CHECK(Book::open(book).check().problems == std::vector<std::string>{});
  }
}

TEST_CASE("joining fails without leaving anything behind", "[sync]") {
  const Folder folder;
  const std::string hub_book = (folder / "hub.book");
  found_book(hub_book, "Robin");
  HubProcess hub = start_hub(folder, hub_book, Security::tls);
  const std::string book = (folder / "laptop.book");
  const auto before = names_in(folder);
  const auto nothing_left = [&] {
    for (const std::string& name : names_in(folder)) CHECK(name.find("laptop") == std::string::npos);
  };

  SECTION("a code that was used") {
    const std::string code = join_code(hub_book);
    CHECK(run_rackside({"--book", (folder / "first.book"), "join", hub.url, code}).status == 0);
    const Run second = run_rackside({"--book", book, "join", hub.url, code});
    CHECK(second.status == fault_info(Fault::expired_code).exit_status);
    CHECK(says(second, "Ask for a new one"));
    nothing_left();
  }
  SECTION("a mistyped code") {
    std::string code = join_code(hub_book);
    code[0] = code[0] == '0' ? '1' : '0';
    CHECK(run_rackside({"--book", book, "join", hub.url, code}).status == fault_info(Fault::bad_code).exit_status);
    nothing_left();
  }
  SECTION("another hub at that address") {
    const std::string other_book = (folder / "other.book");
    found_book(other_book, "Kim");
    HubProcess other = start_hub(folder, other_book, Security::tls);
    const std::string code = join_code(hub_book);
    const Run joined = run_rackside({"--book", book, "join", other.url, code});
    CHECK(joined.status == fault_info(Fault::other_hub).exit_status);
    nothing_left();
    // The code was never shown to the wrong hub, and still works at the right one.
    CHECK(run_rackside({"--book", book, "join", hub.url, code}).status == 0);
  }
  SECTION("no hub at that address") {
    const std::string code = join_code(hub_book);
    hub.process.signal(SIGKILL);
    hub.process.wait();
    const Run joined = run_rackside({"--book", book, "join", hub.url, code});
    CHECK(joined.status == fault_info(Fault::unreachable).exit_status);
    nothing_left();
  }
  CHECK(before.size() > 1);
}

TEST_CASE("a hub that is away, or replaced by another, is told apart", "[sync]") {
  const Folder folder;
  const std::string hub_book = (folder / "hub.book");
  const std::string book = (folder / "one.book");
  found_book(hub_book, "Robin");
  HubProcess hub = start_hub(folder, hub_book, Security::tls);
  REQUIRE(join_hub(hub, hub_book, book).status == 0);
  const int port = port_of(hub.url);
  hub.process.signal(SIGKILL);
  hub.process.wait();
  record_feedings(book, 3);
  const Run away = run_rackside({"--book", book, "sync"});
  CHECK(away.status == fault_info(Fault::unreachable).exit_status);

  const std::string other_book = (folder / "other.book");
  found_book(other_book, "Kim");
  {
    HubProcess other = start_hub(folder, other_book, Security::tls, port);
    CHECK(run_rackside({"--book", book, "sync"}).status == fault_info(Fault::other_hub).exit_status);
  }
  hub = start_hub(folder, hub_book, Security::tls, port);
  const Run back = run_rackside({"--book", book, "sync"});
  INFO(back.out << back.err);
  CHECK(back.status == 0);
  CHECK(digest_of(book) == digest_of(hub_book));
}

TEST_CASE("a viewer receives and does not send; a retired device does neither", "[sync]") {
  const Folder folder;
  const std::string hub_book = (folder / "hub.book");
  const std::string viewer = (folder / "viewer.book");
  const std::string helper = (folder / "helper.book");
  found_book(hub_book, "Robin");
  HubProcess hub = start_hub(folder, hub_book, Security::plain);
  REQUIRE(join_hub(hub, hub_book, viewer, "viewer").status == 0);
  REQUIRE(join_hub(hub, hub_book, helper, "helper", "Mira").status == 0);
  const auto fed = record_feedings(hub_book, 5);
  const auto unread = record_feedings(viewer, 5);
  CHECK(run_rackside({"--book", viewer, "sync"}).status == 0);
  CHECK(Book::open(viewer).log().find(fed.front()) != 0);
  CHECK(Book::open(hub_book).log().find(unread.front()) == 0);

  CHECK(run_rackside({"--book", helper, "invite"}).status == fault_info(Fault::not_allowed).exit_status);

  const std::string id = to_hex(Book::open(helper).device());
  CHECK(says(run_rackside({"--book", hub_book, "devices"}), id));
  CHECK(run_rackside({"--book", hub_book, "retire", id}).status == 0);
  record_feedings(helper, 2);
  CHECK(run_rackside({"--book", helper, "sync"}).status == fault_info(Fault::not_allowed).exit_status);
  CHECK(says(run_rackside({"--book", hub_book, "devices"}), "retired"));
}

TEST_CASE("books sync with each other, by a command's pipe and by a bundle", "[sync]") {
  const Folder folder;
  const std::string hub_book = (folder / "hub.book");
  const std::string one = (folder / "one.book");
  const std::string two = (folder / "two.book");
  found_book(hub_book, "Robin");
  {
    HubProcess hub = start_hub(folder, hub_book, Security::plain);
    REQUIRE(join_hub(hub, hub_book, one).status == 0);
    REQUIRE(join_hub(hub, hub_book, two).status == 0);
  }
  record_feedings(one, 40);
  record_feedings(two, 20);
  CHECK(run_rackside({"--book", one, "sync", two}).status == 0);
  CHECK(digest_of(one) == digest_of(two));

  record_feedings(two, 20);
  const std::string command = std::string(RACKSIDE_BINARY_DIR "/rackside") + " --book " + hub_book + " sync -";
  const Run piped = run_rackside({"--book", two, "sync", "--command", command});
  INFO(piped.out << piped.err);
  CHECK(piped.status == 0);
  CHECK(digest_of(two) == digest_of(hub_book));
  CHECK(run_rackside({"--book", two, "sync", "--command", "exit 3"}).status ==
        fault_info(Fault::unreachable).exit_status);

  const auto fed = record_feedings(one, 4);
  const std::string bundle = (folder / "outbox.bundle");
  CHECK(run_rackside({"--book", one, "sync", "--own", "--out", bundle}).status == 0);
  CHECK(run_rackside({"--book", hub_book, "sync", "--in", bundle}).status == 0);
  CHECK(Book::open(hub_book).log().find(fed.back()) != 0);
  std::ofstream(bundle) << "no bundle\n";
  CHECK(run_rackside({"--book", hub_book, "sync", "--in", bundle}).status == fault_info(Fault::bad_input).exit_status);

  const std::string stranger = (folder / "stranger.book");
  found_book(stranger, "Kim");
  const Run refused = run_rackside({"--book", one, "sync", stranger});
  CHECK(refused.status == fault_info(Fault::other_collection).exit_status);
  CHECK(says(refused, stranger));
  CHECK(says(refused, one));
}
