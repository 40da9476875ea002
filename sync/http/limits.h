#pragma once

#include <cstddef>

#include "sync/net/socket.h"

namespace rackside::sync::http {

/// What one connection may cost the hub. Sizes in bytes. Each is enforced by the guard, before the HTTP library sees
/// anything. Sized for phones in a building with poor Wi-Fi: a full body may take a minute, a head may not.
struct Limits {
  std::size_t head = 16 * 1024;  ///< request line and headers together
  std::size_t line = 8 * 1024;   ///< one header line
  std::size_t target = 2 * 1024;
  std::size_t headers = 64;  ///< how many
  std::size_t body = 1024 * 1024;
  std::size_t connections = 512;
  std::size_t connections_per_address = 24;  ///< a browser opens 6
  std::size_t requests_per_connection = 1000;
  net::Milliseconds handshake{5'000};
  net::Milliseconds keep_alive{2'000};   ///< from one answer to the first byte of the next request
  net::Milliseconds head_time{5'000};    ///< from the first byte to the end of the headers
  net::Milliseconds body_time{60'000};   ///< for the whole body
  net::Milliseconds write_time{30'000};  ///< for each piece of an answer (64 KiB at most)
};

}  // namespace rackside::sync::http
