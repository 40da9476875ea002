#include "sync/tls/channel.h"

#include <openssl/err.h>
#include <sys/socket.h>

#include <algorithm>
#include <cerrno>

#include "core/base/error.h"
#include "sync/tls/certificate.h"
#include "sync/tls/openssl.h"

namespace rackside::sync::tls {
namespace {

using core::Error;
using core::Fault;
using net::Io;
using net::Transfer;
using net::Wait;

// OpenSSL's own socket BIO writes without MSG_NOSIGNAL: a peer that left would end the process. So ours is used.
int descriptor(BIO* bio) {
  return static_cast<int>(reinterpret_cast<std::intptr_t>(BIO_get_data(bio)));
}

bool would_block(int error) {
  return error == EAGAIN || error == EWOULDBLOCK || error == EINTR;
}

int bio_write(BIO* bio, const char* data, int size) {
  BIO_clear_retry_flags(bio);
  const ssize_t sent = ::send(descriptor(bio), data, static_cast<std::size_t>(size), MSG_NOSIGNAL);
  if (sent < 0 && would_block(errno)) BIO_set_retry_write(bio);
  return static_cast<int>(sent);
}

int bio_read(BIO* bio, char* into, int size) {
  BIO_clear_retry_flags(bio);
  const ssize_t got = ::recv(descriptor(bio), into, static_cast<std::size_t>(size), 0);
  if (got < 0 && would_block(errno)) BIO_set_retry_read(bio);
  return static_cast<int>(got);
}

long bio_control(BIO*, int command, long, void*) {
  return command == BIO_CTRL_FLUSH ? 1 : 0;
}

BIO_METHOD* make_method() {
  BIO_METHOD* method = BIO_meth_new(BIO_get_new_index() | BIO_TYPE_SOURCE_SINK, "rackside socket");
  BIO_meth_set_write(method, bio_write);
  BIO_meth_set_read(method, bio_read);
  BIO_meth_set_ctrl(method, bio_control);
  return method;
}

BIO* socket_bio(int fd) {
  static BIO_METHOD* const method = make_method();
  BIO* bio = require_object(BIO_new(method), "make a BIO");
  BIO_set_data(bio, reinterpret_cast<void*>(static_cast<std::intptr_t>(fd)));
  BIO_set_init(bio, 1);
  return bio;
}

class TlsChannel : public net::Channel {
 public:
  TlsChannel(net::Socket socket, SSL_CTX* context)
      : socket_(std::move(socket)), ssl_(require_object(SSL_new(context), "start TLS")) {
    BIO* bio = socket_bio(socket_.fd());
    SSL_set_bio(ssl_.get(), bio, bio);
  }

  SSL* ssl() { return ssl_.get(); }

  template <class Step>
  Io run(Step step, net::Instant deadline) {
    for (;;) {
      ERR_clear_error();
      const int answer = step(ssl_.get());
      if (answer > 0) return Io::done;
      switch (SSL_get_error(ssl_.get(), answer)) {
        case SSL_ERROR_WANT_READ:
          if (!net::wait_for(fd(), Wait::readable, deadline)) return Io::timed_out;
          break;
        case SSL_ERROR_WANT_WRITE:
          if (!net::wait_for(fd(), Wait::writable, deadline)) return Io::timed_out;
          break;
        case SSL_ERROR_ZERO_RETURN:
          return Io::closed;
        default:
          broken_ = true;
          return Io::failed;
      }
    }
  }

  Transfer read(std::span<char> into, net::Instant deadline) override {
    std::size_t got = 0;
    const Io end = run([&](SSL* ssl) { return SSL_read_ex(ssl, into.data(), into.size(), &got); }, deadline);
    return {end, end == Io::done ? got : 0};
  }

  Transfer write(std::string_view data, net::Instant deadline) override {
    std::size_t sent = 0;
    while (sent < data.size()) {
      std::size_t count = 0;
      const auto step = [&](SSL* ssl) { return SSL_write_ex(ssl, data.data() + sent, data.size() - sent, &count); };
      if (const Io end = run(step, deadline); end != Io::done) return {end, sent};
      sent += count;
    }
    return {Io::done, sent};
  }

  void finish(net::Instant) override {
    if (!broken_) SSL_shutdown(ssl_.get());  // sends close_notify; not waited for
    ERR_clear_error();
    ::shutdown(fd(), SHUT_WR);
  }

  int fd() const override { return socket_.fd(); }

 private:
  net::Socket socket_;
  SslPtr ssl_;
  bool broken_ = false;
};

SslContextPtr make_context(const SSL_METHOD* method) {
  SslContextPtr context(require_object(SSL_CTX_new(method), "make a TLS context"), SSL_CTX_free);
  SSL_CTX_set_min_proto_version(context.get(), TLS1_2_VERSION);
  SSL_CTX_set_options(context.get(), SSL_OP_NO_COMPRESSION | SSL_OP_NO_RENEGOTIATION);
  SSL_CTX_set_mode(context.get(),
                   SSL_MODE_ENABLE_PARTIAL_WRITE | SSL_MODE_ACCEPT_MOVING_WRITE_BUFFER | SSL_MODE_RELEASE_BUFFERS);
  return context;
}

void add_to_chain(SSL_CTX* context, const std::string& pem) {
  CertPtr certificate = certificate_from_pem(pem);
  if (!certificate)
    throw Error(Fault::bad_input, "The hub's authority is damaged. Restore the hub's keys from a backup.");
  require(static_cast<int>(SSL_CTX_add1_chain_cert(context, certificate.get())), "use the authority");
}

std::vector<X509*> shown_chain(SSL* ssl) {
  std::vector<X509*> out;
  STACK_OF(X509)* chain = SSL_get_peer_cert_chain(ssl);
  for (int i = 0; chain != nullptr && i < sk_X509_num(chain); ++i) out.push_back(sk_X509_value(chain, i));
  return out;
}

bool matches(const PinnedFingerprint& pin, X509* certificate) {
  const core::Hash found = fingerprint_of(certificate);
  return pin.prefix.size() <= found.size() && std::equal(pin.prefix.begin(), pin.prefix.end(), found.begin());
}

[[noreturn]] void refuse_hub(const std::string& why) {
  throw Error(Fault::other_hub,
              "This is not the hub that was joined: " + why +
                  ". Nothing was sent. Check the address; if the hub was set up anew, join it again.");
}

constexpr std::size_t kLeastPinnedBytes = 10;  // 80 bits

/// A hub shows its authority too, so that the pinned one has been read already, most often: to read a key costs more
/// than all the rest of a verification.
CertPtr shown_as(const std::string& pem, const std::vector<X509*>& chain) {
  const std::vector<std::uint8_t> pinned = der_in_pem(pem);
  if (pinned.empty()) return {};
  const auto found = std::find_if(chain.begin(), chain.end(), [&](X509* c) { return der_of(c) == pinned; });
  return found == chain.end() ? CertPtr() : share(*found);
}

CertPtr find_anchor(const Pin& pin, const std::vector<X509*>& chain) {
  if (const auto* whole = std::get_if<PinnedAuthority>(&pin)) {
    if (CertPtr shown = shown_as(whole->pem, chain)) return shown;
    CertPtr anchor = certificate_from_pem(whole->pem);
    if (!anchor) throw Error(Fault::bad_input, "The stored authority of the hub is damaged. Join the hub again.");
    return anchor;
  }
  const auto& short_pin = std::get<PinnedFingerprint>(pin);
  if (short_pin.prefix.size() < kLeastPinnedBytes)
    throw Error(Fault::bad_input, "The fingerprint in the code is too short to be safe. Ask for a new join code.");
  const auto found = std::find_if(chain.begin(), chain.end(), [&](X509* c) { return matches(short_pin, c); });
  if (found == chain.end()) refuse_hub("its key has another fingerprint than the code says");
  return share(*found);
}

std::string verify_peer(SSL* ssl, const Pin& pin) {
  const std::vector<X509*> chain = shown_chain(ssl);
  if (chain.empty()) refuse_hub("it shows no certificate");
  const CertPtr anchor = find_anchor(pin, chain);
  const std::string reason = why_untrusted(anchor.get(), chain, chain.front(), std::nullopt);
  if (!reason.empty()) refuse_hub("its certificate does not come from the pinned authority (" + reason + ")");
  return to_pem(anchor.get());
}

/// One for all connections of this process: to make one costs more than the handshake. The handshake accepts any chain;
/// verify_peer judges it before anything of ours is sent.
SSL_CTX* client_context() {
  static const SslContextPtr& context = *new SslContextPtr([] {  // never deleted: a thread may outlive main
    SslContextPtr made = make_context(TLS_client_method());
    SSL_CTX_set_verify(made.get(), SSL_VERIFY_NONE, nullptr);
    return made;
  }());
  return context.get();
}

[[noreturn]] void fail_handshake(Io end) {
  const char* why = end == Io::timed_out ? "it took too long to set up the encrypted connection"
                                         : "it did not set up an encrypted connection";
  throw Error(Fault::unreachable,
              std::string("The hub does not answer properly: ") + why + ". Is this the hub's https address and port?");
}

}  // namespace

ServerContext::ServerContext(const HubIdentity& identity) {
  SslContextPtr context = make_context(TLS_server_method());
  const CertPtr leaf = certificate_from_pem(identity.leaf);
  const KeyPtr key = key_from_pem(identity.leaf_key);
  if (!leaf || !key || X509_check_private_key(leaf.get(), key.get()) != 1)
    throw Error(Fault::bad_input, "The hub's certificate and key do not fit. Restore the hub's keys from a backup.");
  require(SSL_CTX_use_certificate(context.get(), leaf.get()), "use the certificate");
  require(SSL_CTX_use_PrivateKey(context.get(), key.get()), "use the key");
  add_to_chain(context.get(), identity.intermediate);
  add_to_chain(context.get(), identity.root);
  context_ = std::move(context);
}

std::unique_ptr<net::Channel> ServerContext::accept(net::Socket socket, net::Instant deadline) const {
  auto channel = std::make_unique<TlsChannel>(std::move(socket), static_cast<SSL_CTX*>(context_.get()));
  if (channel->run(SSL_accept, deadline) != Io::done) return nullptr;
  return channel;
}

Trusted connect(net::Socket socket, const std::string& server_name, const Pin& pin, net::Instant deadline) {
  auto channel = std::make_unique<TlsChannel>(std::move(socket), client_context());
  if (!net::is_numeric_address(server_name)) SSL_set_tlsext_host_name(channel->ssl(), server_name.c_str());
  if (const Io end = channel->run(SSL_connect, deadline); end != Io::done) fail_handshake(end);
  std::string authority = verify_peer(channel->ssl(), pin);
  return {std::move(channel), std::move(authority)};
}

}  // namespace rackside::sync::tls
