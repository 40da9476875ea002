#include "sync/tls/openssl.h"

#include <openssl/err.h>
#include <openssl/pem.h>

#include "core/base/error.h"

namespace rackside::sync::tls {
namespace {

BioPtr memory(std::string_view text) {
  return BioPtr(require_object(BIO_new_mem_buf(text.data(), static_cast<int>(text.size())), "open a memory buffer"));
}

std::string contents(const BioPtr& bio) {
  char* data = nullptr;
  const long size = BIO_get_mem_data(bio.get(), &data);
  return {data, static_cast<std::size_t>(size)};
}

/// PEM of an encrypted key must be an error, not a question on the terminal.
int no_password(char*, int, int, void*) {
  return -1;
}

}  // namespace

void fail(std::string_view step) {
  char reason[160] = "no reason given";
  if (const unsigned long code = ERR_get_error(); code != 0) ERR_error_string_n(code, reason, sizeof reason);
  ERR_clear_error();
  throw core::Error(core::Fault::internal, "OpenSSL could not " + std::string(step) + " (" + reason +
                                               "). This is a fault of the program or of the installed library.");
}

CertPtr certificate_from_pem(std::string_view pem) {
  CertPtr out(PEM_read_bio_X509(memory(pem).get(), nullptr, no_password, nullptr));
  ERR_clear_error();
  return out;
}

std::vector<std::uint8_t> der_in_pem(std::string_view pem) {
  unsigned char* bytes = nullptr;
  long size = 0;
  if (PEM_bytes_read_bio(&bytes, &size, nullptr, PEM_STRING_X509, memory(pem).get(), no_password, nullptr) != 1) {
    ERR_clear_error();
    return {};
  }
  std::vector<std::uint8_t> out(bytes, bytes + size);
  OPENSSL_free(bytes);
  return out;
}

std::vector<std::uint8_t> der_of(X509* certificate) {
  unsigned char* bytes = nullptr;
  const int size = i2d_X509(certificate, &bytes);
  if (size <= 0) fail("write a certificate");
  std::vector<std::uint8_t> out(bytes, bytes + size);
  OPENSSL_free(bytes);
  return out;
}

KeyPtr key_from_pem(std::string_view pem) {
  KeyPtr out(PEM_read_bio_PrivateKey(memory(pem).get(), nullptr, no_password, nullptr));
  ERR_clear_error();
  return out;
}

std::string to_pem(X509* certificate) {
  const BioPtr out(require_object(BIO_new(BIO_s_mem()), "open a memory buffer"));
  require(PEM_write_bio_X509(out.get(), certificate), "write a certificate");
  return contents(out);
}

std::string to_pem(EVP_PKEY* key) {
  const BioPtr out(require_object(BIO_new(BIO_s_mem()), "open a memory buffer"));
  require(PEM_write_bio_PKCS8PrivateKey(out.get(), key, nullptr, nullptr, 0, nullptr, nullptr), "write a key");
  return contents(out);
}

CertPtr share(X509* certificate) {
  X509_up_ref(certificate);
  return CertPtr(certificate);
}

}  // namespace rackside::sync::tls
