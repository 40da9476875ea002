#include "core/crypto/sha256.h"

#include <openssl/evp.h>

#include <memory>

#include "core/base/error.h"

namespace rackside::core {
namespace {

struct ContextDeleter {
  void operator()(EVP_MD_CTX* context) const { EVP_MD_CTX_free(context); }
};

/// One context a thread, set up once: fetching the algorithm for every event costs more than hashing it.
class Hasher {
 public:
  Hasher() : context_(EVP_MD_CTX_new()), method_(EVP_MD_fetch(nullptr, "SHA256", nullptr)) {
    if (!context_ || method_ == nullptr)
      throw Error(Fault::internal, "SHA-256 is missing from this machine's OpenSSL. Reinstall the package libssl3.");
  }
  ~Hasher() { EVP_MD_free(method_); }
  Hasher(const Hasher&) = delete;
  Hasher& operator=(const Hasher&) = delete;

  Hash digest(std::initializer_list<ByteSpan> parts) {
    Hash out{};
    bool good = EVP_DigestInit_ex2(context_.get(), method_, nullptr) == 1;
    for (const ByteSpan part : parts) good = good && EVP_DigestUpdate(context_.get(), part.data(), part.size()) == 1;
    good = good && EVP_DigestFinal_ex(context_.get(), out.data(), nullptr) == 1;
    if (!good) throw Error(Fault::internal, "SHA-256 failed in OpenSSL, which points to a lack of memory. Try again.");
    return out;
  }

 private:
  std::unique_ptr<EVP_MD_CTX, ContextDeleter> context_;
  EVP_MD* method_;
};

}  // namespace

Hash sha256(std::initializer_list<ByteSpan> parts) {
  thread_local Hasher hasher;
  return hasher.digest(parts);
}

}  // namespace rackside::core
