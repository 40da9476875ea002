#include "sync/http/server.h"

#include <sys/eventfd.h>
#include <sys/socket.h>
#include <unistd.h>

#include <poll.h>
#include <atomic>
#include <condition_variable>
#include <map>
#include <mutex>
#include <thread>

#include "core/base/error.h"
#include "sync/http/connection.h"
#include "sync/http/engine.h"
#include "sync/http/router.h"
#include "sync/http/shares.h"
#include "sync/tls/channel.h"

namespace rackside::sync::http {
namespace {

using core::Error;
using core::Fault;

constexpr net::Milliseconds kPauseWithoutFiles{50};

ServerOptions complete(ServerOptions options) {
  options.names.push_back("localhost");
  if (!options.report) options.report = [](std::string_view) {};
  if (!options.admit)
    options.admit = [](const Request&, std::string_view) {
      return Admission{error_response(403, "not-allowed", "Nobody is allowed to do this here."), "", ""};
    };
  return options;
}

}  // namespace

class Server::Impl {
 public:
  explicit Impl(ServerOptions options)
      : options_(complete(std::move(options))),
        shares_(options_.limits.connections, options_.limits.connections_per_address) {}

  ~Impl() { stop(); }

  void add_route(const std::string& method, const std::string& path, Handler handler, RouteOptions route) {
    if (options_.exposure == Exposure::plain_page && (method != "GET" || !route.right.empty()))
      throw Error(Fault::internal, "The plain page must not offer " + method + " " + path + ": it is not encrypted.");
    router_.add(method, path, std::move(handler), std::move(route));
  }

  void use_identity(const tls::HubIdentity& identity) {
    auto context = std::make_shared<const tls::ServerContext>(identity);
    const std::lock_guard lock(mutex_);
    context_ = std::move(context);
  }

  void listen(const std::string& address, int port) {
    check_exposure(address);
    listener_ = net::listen_on(address, port);
    wake_ = net::Socket(::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK));
    if (!wake_) throw Error(Fault::internal, "The system gives no event descriptor. Are too many files open?");
    acceptor_ = std::thread([this] { accept_all(); });
  }

  int port() const { return net::local_address(listener_.fd()).port; }
  bool stopping() const { return stopping_; }

  void stop() {
    if (!stopping_.exchange(true)) end_connections();
    wait();
  }

  void wait() {
    std::unique_lock lock(mutex_);
    changed_.wait(lock, [this] { return !listener_ || ended_; });
  }

 private:
  void check_exposure(const std::string& address) const {
    if (options_.exposure == Exposure::tls && !context_)
      throw Error(Fault::usage, "The hub has no certificate to serve with. Make its identity first.");
    if (options_.exposure == Exposure::plain_loopback && !net::is_loopback(address))
      throw Error(Fault::usage, "Without encryption the hub serves this machine only, not " + address +
                                    ". Use 127.0.0.1, or serve encrypted.");
  }

  void accept_all() {
    pollfd entries[] = {{listener_.fd(), POLLIN, 0}, {wake_.fd(), POLLIN, 0}};
    while (!stopping_) {
      if (::poll(entries, 2, -1) < 0 && errno != EINTR) break;
      bool out_of_files = false;
      while (!stopping_) {
        auto accepted = net::accept_from(listener_, out_of_files);
        if (!accepted) break;
        admit(std::move(accepted->first), std::move(accepted->second));
      }
      if (out_of_files) std::this_thread::sleep_for(kPauseWithoutFiles);
    }
  }

  /// A connection beyond a share is closed at once: an answer would cost a handshake, which is what a flood wants.
  void admit(net::Socket socket, net::Address peer) {
    const std::string key = net::share_key(peer.ip);
    const std::lock_guard lock(mutex_);
    if (stopping_ || shares_.enter(key) == Shares::Entry::refused) return;
    const std::uint64_t number = next_number_++;
    open_[number] = socket;
    try {
      std::thread([this, number, key, peer, socket] {
        serve(socket, peer);
        leave(number, key);
      }).detach();
    } catch (const std::system_error&) {  // no thread to be had: this peer tries again
      open_.erase(number);
      shares_.leave(key);
    }
  }

  void serve(const net::Socket& socket, const net::Address& peer) {
    const ConnectionContext context{options_, router_, engine_, stopping_};
    try {
      const std::shared_ptr<const tls::ServerContext> tls = identity();
      serve_connection(context, socket, peer, options_.exposure == Exposure::tls ? tls.get() : nullptr);
    } catch (const std::exception& fault) {
      options_.report(std::string("A connection was ended: ") + fault.what());
    }
  }

  std::shared_ptr<const tls::ServerContext> identity() {
    const std::lock_guard lock(mutex_);
    return context_;
  }

  void leave(std::uint64_t number, const std::string& key) {
    const std::lock_guard lock(mutex_);
    open_.erase(number);
    shares_.leave(key);
    changed_.notify_all();
  }

  void end_connections() {
    engine_.shut_down();
    if (wake_) {
      const std::uint64_t one = 1;
      [[maybe_unused]] const ssize_t written = ::write(wake_.fd(), &one, sizeof one);
    }
    if (acceptor_.joinable()) acceptor_.join();
    std::unique_lock lock(mutex_);
    for (const auto& [number, socket] : open_) ::shutdown(socket.fd(), SHUT_RDWR);
    changed_.wait(lock, [this] { return shares_.total() == 0; });
    ended_ = true;
    changed_.notify_all();
  }

  const ServerOptions options_;
  Router router_;
  Engine engine_;
  net::Socket listener_;
  net::Socket wake_;
  std::thread acceptor_;
  std::atomic<bool> stopping_ = false;

  std::mutex mutex_;  ///< guards what follows
  std::condition_variable changed_;
  std::shared_ptr<const tls::ServerContext> context_;
  Shares shares_;
  std::map<std::uint64_t, net::Socket> open_;
  std::uint64_t next_number_ = 1;
  bool ended_ = false;
};

Server::Server(ServerOptions options) : impl_(std::make_unique<Impl>(std::move(options))) {}
Server::~Server() = default;

void Server::route(const std::string& method, const std::string& path, Handler handler, RouteOptions options) {
  impl_->add_route(method, path, std::move(handler), std::move(options));
}

void Server::use_identity(const tls::HubIdentity& identity) {
  impl_->use_identity(identity);
}
void Server::listen(const std::string& address, int port) {
  impl_->listen(address, port);
}
int Server::bound_port() const {
  return impl_->port();
}
bool Server::stopping() const {
  return impl_->stopping();
}
void Server::stop() {
  impl_->stop();
}
void Server::wait() {
  impl_->wait();
}

}  // namespace rackside::sync::http
