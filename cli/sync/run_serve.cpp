#include <fmt/format.h>
#include <pthread.h>
#include <signal.h>

#include <nlohmann/json.hpp>

#include "cli/photos/for_page.h"
#include "cli/print/for_page.h"
#include "cli/sync/symbols.h"
#include "cli/sync/sync_options.h"
#include "sync/files/whole_file.h"
#include "sync/hub/hub.h"
#include "sync/hub/keys.h"
#include "sync/page/serve/page_routes.h"
#include "sync/tls/names.h"

namespace rackside::cli {

using core::Error;
using core::Fault;
using Json = nlohmann::json;

namespace {

constexpr int kUsualPort = 8443;
constexpr int kUsualPlainPort = 8480;
constexpr int kUsualJoinPort = 8480;
constexpr int kRenewalLookSeconds = 3600;
constexpr int kLockWaitMs = 20'000;

/// Signals that end the hub, held back in every thread and taken by the main one. Threads started later inherit it.
class EndSignals {
 public:
  EndSignals() {
    sigemptyset(&set_);
    sigaddset(&set_, SIGINT);
    sigaddset(&set_, SIGTERM);
    pthread_sigmask(SIG_BLOCK, &set_, &before_);
  }
  ~EndSignals() { pthread_sigmask(SIG_SETMASK, &before_, nullptr); }
  EndSignals(const EndSignals&) = delete;
  EndSignals& operator=(const EndSignals&) = delete;

  /// Returns when one came; calls `meanwhile` every hour.
  void wait(const std::function<void()>& meanwhile) const {
    const timespec hour{kRenewalLookSeconds, 0};
    for (;;) {
      const int signal = ::sigtimedwait(&set_, nullptr, &hour);
      if (signal > 0) return;
      if (errno == EAGAIN) meanwhile();
    }
  }

 private:
  sigset_t set_{};
  sigset_t before_{};
};

/// One running hub: its identity, its server, and what is told about them.
class Serving {
 public:
  Serving(Session& session, const ServeOptions& options)
      : session_(session),
        options_(options),
        addresses_(sync::hub::machine_addresses()),
        identity_(sync::hub::open_identity(session.path(), options.name, addresses_, session.now())),
        hub_(session.path(), identity_.name, clock_of(session), {page_picture_reader(), page_printer()}),
        server_(server_options()) {}

  void run() {
    const EndSignals signals;
    hub_.add_routes(server_);
    sync::page::add_app_routes(server_);
    if (!options_.plain) server_.use_identity(identity_);
    const std::string listen = listen_address();
    server_.listen(listen, port());
    const std::string url = url_of(listen);
    remember("serving_url", url);
    if (!options_.plain) open_trust_page(listen, url);
    if (!options_.plain) warn_of_other_address(url);
    tell(url);
    if (!options_.ready_file.empty()) write_ready_file(url);
    signals.wait([this] { look_at_leaf(); });
    if (trust_server_) trust_server_->stop();
    server_.stop();
    hub_.checkpoint();
    if (!session_.json) session_.terminal.good("The hub has ended. Everything it acknowledged is in the book.");
  }

 private:
  sync::http::ServerOptions server_options() {
    sync::http::ServerOptions out;
    out.exposure = options_.plain ? sync::http::Exposure::plain_loopback : sync::http::Exposure::tls;
    out.names = {identity_.name};
    out.content_security_policy = sync::page::app_policy();
    out.admit = hub_.admission();
    out.report = [this](std::string_view text) { session_.terminal.problem(core::mend_text(text)); };
    return out;
  }

  std::string listen_address() const {
    if (!options_.listen.empty()) return options_.listen;
    return options_.plain ? "127.0.0.1" : "0.0.0.0";
  }

  int port() const {
    if (options_.port >= 0) return options_.port;
    return options_.plain ? kUsualPlainPort : kUsualPort;
  }

  std::string host_of(const std::string& listen) const {
    std::string host = listen;
    if (host == "0.0.0.0" || host == "::") host = addresses_.empty() ? "127.0.0.1" : addresses_.front();
    return host.find(':') != std::string::npos ? "[" + host + "]" : host;
  }

  std::string url_of(const std::string& listen) const {
    return fmt::format("{}://{}:{}", options_.plain ? "http" : "https", host_of(listen), server_.bound_port());
  }

  /// So that `invite`, beside this process, can say where to join.
  void remember(const std::string& key, const std::string& url) {
    core::Book& book = session_.book();
    if (book.own_value(key) == url) return;
    book.write([&] { book.set_own_value(key, url); });
  }

  int join_port() const {
    if (options_.join_port >= 0) return options_.join_port;
    return port() == 0 ? 0 : kUsualJoinPort;
  }

  /// The plain page by which phones learn to trust this hub. Phones that have joined need it no more, so the hub goes
  /// on where its port is taken.
  void open_trust_page(const std::string& listen, const std::string& url) {
    const sync::page::TrustFacts facts{sync::tls::to_der(identity_.root),
                                       sync::tls::grouped_fingerprint(sync::tls::fingerprint(identity_.root)), url,
                                       identity_.name};
    sync::http::ServerOptions options;
    options.exposure = sync::http::Exposure::plain_page;
    options.names = {identity_.name};
    options.content_security_policy = sync::page::trust_policy(facts);
    options.report = [this](std::string_view text) { session_.terminal.problem(core::mend_text(text)); };
    trust_server_ = std::make_unique<sync::http::Server>(options);
    sync::page::add_trust_routes(*trust_server_, facts);
    try {
      trust_server_->listen(listen, join_port());
    } catch (const Error& error) {
      trust_server_.reset();
      session_.terminal.problem(std::string("New phones cannot join now: ") + error.what() +
                                " Give their page another port with --join-port.");
      return;
    }
    trust_url_ = fmt::format("http://{}:{}/", host_of(listen), trust_server_->bound_port());
    remember("trust_url", trust_url_);
  }

  /// A browser keeps a page's store by its address.
  void warn_of_other_address(const std::string& url) const {
    const auto origin = session_.book().own_value("phone_origin");
    if (!origin || *origin == url || !origin->starts_with("https://")) return;
    session_.terminal.problem("Phones may have joined at " + *origin + ", and the hub is at " + url +
                              " now: they do not find it, and their entries wait. Give this computer its old address "
                              "again (a reserved address in the router keeps it), or the old --port.");
  }

  void tell(const std::string& url) const {
    const std::string authority = sync::tls::grouped_fingerprint(sync::tls::fingerprint(identity_.root));
    const Terminal& out = session_.terminal;
    if (session_.json) {
      Json said = {{"url", url},
                   {"name", identity_.name},
                   {"authority_sha256", authority},
                   {"collection", core::to_hex(session_.book().collection())}};
      if (!trust_url_.empty()) said["trust_url"] = trust_url_;
      out.line(said.dump());
    } else {
      out.good("The hub is open at " + out.strong(url));
      if (!options_.plain)
        out.line(fmt::format("  also as https://{}:{}, where the network knows that name", identity_.name,
                             server_.bound_port()));
      out.line("  its authority's SHA-256: " + authority);
      out.line();
      if (!trust_url_.empty()) {
        out.line("A new phone starts at " + out.strong(trust_url_) + ": scan this with its camera app.");
        print_symbol(out, trust_url_);
        out.line(
            "It compares the SHA-256 above before it trusts; then `rackside invite --name THEIR-NAME` gives its code.");
      }
      out.line("To let a laptop join: `rackside invite --name THEIR-NAME` on this computer gives a code;");
      out.line("then `rackside join " + url + " CODE` on the laptop. Ctrl-C ends the hub.");
    }
    std::fflush(stdout);
  }

  void write_ready_file(const std::string& url) const {
    sync::WholeFile file(options_.ready_file);
    file.write(url + "\n");
    file.keep();
  }

  void look_at_leaf() {
    const auto now = session_.now();
    if (sync::hub::renew(identity_, session_.path(), addresses_, now) == sync::tls::Renewal::done && !options_.plain) {
      server_.use_identity(identity_);
    }
  }

  Session& session_;
  const ServeOptions& options_;
  std::vector<std::string> addresses_;
  sync::tls::HubIdentity identity_;
  sync::hub::Hub hub_;
  sync::http::Server server_;
  std::unique_ptr<sync::http::Server> trust_server_;
  std::string trust_url_;
};

}  // namespace

void run_serve(Session& session, const ServeOptions& options) {
  session.book();  // a missing book is said before keys are made for it
  Serving(session, options).run();
}

}  // namespace rackside::cli
