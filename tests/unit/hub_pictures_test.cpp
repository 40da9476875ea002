// What photos may cost the hub: how many are on their way, being read, and sent in a minute; and what a device told of
// itself.
#include <atomic>
#include <thread>

#include "core/base/error.h"
#include "sync/hub/pictures.h"
#include "sync/hub/presence.h"
#include "tests/support/catch.h"

using namespace rackside::sync::hub;
namespace http = rackside::sync::http;

namespace {

http::Request photo_of(const std::string& device) {
  http::Request request;
  request.device = device;
  request.body = "picture";
  return request;
}

PictureFindings nothing(std::string_view) {
  return {};
}

}  // namespace

TEST_CASE("of one device two photos are on their way, of all together eight", "[hub][photo]") {
  PictureDesk desk(nothing);
  CHECK_FALSE(desk.admit("a", 0));
  CHECK_FALSE(desk.admit("a", 0));
  const auto third = desk.admit("a", 0);
  REQUIRE(third);
  CHECK(third->status == 503);
  for (const char* device : {"b", "c", "d"}) {
    CHECK_FALSE(desk.admit(device, 0));
    CHECK_FALSE(desk.admit(device, 0));
  }
  REQUIRE(desk.admit("e", 0));
  // One was read: there is room for another.
  desk.take(photo_of("a"));
  CHECK_FALSE(desk.admit("e", 0));
}

TEST_CASE("a photo that was announced and never came is forgotten", "[hub][photo]") {
  PictureDesk desk(nothing);
  CHECK_FALSE(desk.admit("a", 0));
  CHECK_FALSE(desk.admit("a", 0));
  CHECK(desk.admit("a", PictureDesk::kPatienceMs));
  CHECK_FALSE(desk.admit("a", PictureDesk::kPatienceMs + 1));
}

TEST_CASE("a device sends thirty photos in a minute and no more", "[hub][photo]") {
  PictureDesk desk(nothing);
  for (std::size_t i = 0; i < PictureDesk::kInAMinute; ++i) {
    REQUIRE_FALSE(desk.admit("a", static_cast<std::int64_t>(i)));
    desk.take(photo_of("a"));
  }
  const auto refused = desk.admit("a", 59'999);
  REQUIRE(refused);
  CHECK(refused->status == 429);
  CHECK_FALSE(desk.admit("b", 59'999));
  // The first one is a minute old now.
  CHECK_FALSE(desk.admit("a", 60'000));
}

TEST_CASE("two photos are read at a time, whatever comes", "[hub][photo]") {
  std::atomic<int> now{0};
  std::atomic<int> most{0};
  PictureDesk desk([&](std::string_view) {
    most = std::max<int>(most, ++now);
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
    --now;
    return PictureFindings{};
  });
  std::vector<std::thread> threads;
  for (int i = 0; i < 8; ++i) threads.emplace_back([&, i] { desk.take(photo_of(std::to_string(i))); });
  for (std::thread& thread : threads) thread.join();
  CHECK(most >= 1);
  CHECK(most <= 2);
}

TEST_CASE("a photo that cannot be read makes room like one that can", "[hub][photo]") {
  PictureDesk desk([](std::string_view) -> PictureFindings {
    throw rackside::core::Error(rackside::core::Fault::unreadable_image, "no picture");
  });
  for (int i = 0; i < 5; ++i) {
    REQUIRE_FALSE(desk.admit("a", i));
    CHECK_THROWS_AS(desk.take(photo_of("a")), rackside::core::Error);
  }
}

TEST_CASE("what a device told is kept when it changes, else every ten minutes", "[hub][devices]") {
  constexpr std::int64_t kMinute = 60'000;
  Presence presence;
  CHECK(presence.hear("a", {0, 0, {}}));
  CHECK_FALSE(presence.hear("a", {kMinute, 0, {}}));
  CHECK(presence.of("a")->seen_ms == kMinute);
  const auto loaded = presence.hear("a", {2 * kMinute, 3, 70'000});
  REQUIRE(loaded);
  CHECK(loaded->unsent == 3);
  // Who does not say what waits leaves it as it was.
  CHECK_FALSE(presence.hear("a", {3 * kMinute, {}, {}}));
  CHECK(presence.of("a")->unsent == 3);
  CHECK(presence.of("a")->oldest_ms == 70'000);
  CHECK(presence.hear("a", {12 * kMinute, {}, {}}));
  CHECK_FALSE(presence.of("b"));
}
