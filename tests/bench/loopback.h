#pragma once

#include <atomic>
#include <cstddef>
#include <memory>
#include <string>
#include <thread>

#include "sync/http/client.h"
#include "sync/http/server.h"
#include "sync/hub/hub.h"

namespace rackside::bench {

sync::ClockSource wall_clock();

/// A hub as `rackside serve` runs it, over TLS on 127.0.0.1, in this process. Its admission believes that a token names
/// the device and lets every device do everything; what else a request passes is real.
class LoopbackHub {
 public:
  explicit LoopbackHub(const std::string& book);
  /// A client of the hub for a device; `port` where another way to it is meant.
  sync::http::Client client(const std::string& device, int port = 0) const;
  int port() const { return server_.bound_port(); }

 private:
  sync::tls::HubIdentity identity_;
  sync::hub::Hub hub_;
  sync::http::Server server_;
};

/// A port of this machine behind which lies another, one connection after the other; counts what passes.
class CountingPort {
 public:
  explicit CountingPort(int target);
  ~CountingPort();
  int port() const { return port_; }
  std::size_t bytes() const { return bytes_; }  ///< both ways

 private:
  void run(int target);
  void carry(int one, int other);

  sync::net::Socket listener_;
  int port_ = 0;
  std::atomic<bool> ending_ = false;
  std::atomic<std::size_t> bytes_ = 0;
  std::thread thread_;
};

}  // namespace rackside::bench
