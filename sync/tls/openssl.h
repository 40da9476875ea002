#pragma once

// Internal to sync/tls, the only folder of sync that includes OpenSSL. Owners for OpenSSL's objects and one way to
// fail.

#include <openssl/bio.h>
#include <openssl/evp.h>
#include <openssl/ssl.h>
#include <openssl/x509.h>
#include <openssl/x509v3.h>

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

namespace rackside::sync::tls {

template <auto Free>
struct Freer {
  template <class T>
  void operator()(T* object) const {
    Free(object);
  }
};

inline void free_stack(STACK_OF(X509) * stack) {
  sk_X509_pop_free(stack, X509_free);
}

using BioPtr = std::unique_ptr<BIO, Freer<BIO_free>>;
using KeyPtr = std::unique_ptr<EVP_PKEY, Freer<EVP_PKEY_free>>;
using CertPtr = std::unique_ptr<X509, Freer<X509_free>>;
using StorePtr = std::unique_ptr<X509_STORE, Freer<X509_STORE_free>>;
using StoreContextPtr = std::unique_ptr<X509_STORE_CTX, Freer<X509_STORE_CTX_free>>;
using StackPtr = std::unique_ptr<STACK_OF(X509), Freer<free_stack>>;
using SslPtr = std::unique_ptr<SSL, Freer<SSL_free>>;
using SslContextPtr = std::shared_ptr<SSL_CTX>;

/// Throws Error(internal) naming the step and OpenSSL's own reason, and empties OpenSSL's error queue.
[[noreturn]] void fail(std::string_view step);

/// For calls that answer 1 on success.
inline void require(int answer, std::string_view step) {
  if (answer != 1) fail(step);
}

/// For calls that answer an object.
template <class T>
T* require_object(T* object, std::string_view step) {
  if (object == nullptr) fail(step);
  return object;
}

CertPtr certificate_from_pem(std::string_view pem);  ///< empty when it is none
/// The bytes of the certificate in a PEM, unread; empty when it is none.
std::vector<std::uint8_t> der_in_pem(std::string_view pem);
std::vector<std::uint8_t> der_of(X509* certificate);
KeyPtr key_from_pem(std::string_view pem);  ///< empty when it is none
std::string to_pem(X509* certificate);
std::string to_pem(EVP_PKEY* key);
CertPtr share(X509* certificate);  ///< one more owner of it

}  // namespace rackside::sync::tls
