#include "core/crypto/key.h"

#include <openssl/bn.h>
#include <openssl/core_names.h>
#include <openssl/ec.h>
#include <openssl/err.h>
#include <openssl/evp.h>
#include <openssl/obj_mac.h>
#include <openssl/param_build.h>
#include <openssl/rand.h>

#include <algorithm>
#include <string>

#include "core/base/error.h"
#include "core/crypto/sha256.h"

namespace rackside::core {
namespace {

template <auto Free>
struct Deleter {
  template <typename T>
  void operator()(T* pointer) const {
    Free(pointer);
  }
};

using BigNumber = std::unique_ptr<BIGNUM, Deleter<BN_clear_free>>;
using DigestContext = std::unique_ptr<EVP_MD_CTX, Deleter<EVP_MD_CTX_free>>;
using EcSignature = std::unique_ptr<ECDSA_SIG, Deleter<ECDSA_SIG_free>>;
using Group = std::unique_ptr<EC_GROUP, Deleter<EC_GROUP_free>>;
using KeyContext = std::unique_ptr<EVP_PKEY_CTX, Deleter<EVP_PKEY_CTX_free>>;
using ParamBuilder = std::unique_ptr<OSSL_PARAM_BLD, Deleter<OSSL_PARAM_BLD_free>>;
using Params = std::unique_ptr<OSSL_PARAM, Deleter<OSSL_PARAM_free>>;
using PKey = std::unique_ptr<EVP_PKEY, Deleter<EVP_PKEY_free>>;
using Point = std::unique_ptr<EC_POINT, Deleter<EC_POINT_free>>;

// A DER signature of P-256: a sequence header and two integers of at most 33 bytes, each with its header.
constexpr std::size_t kMaxDerBytes = 2 + 2 * (2 + 33);

/// OpenSSL keeps a queue of errors a thread: it is emptied so that a later caller does not read ours.
[[noreturn]] void fail(Fault fault, const char* message) {
  ERR_clear_error();
  throw Error(fault, message);
}

void require(bool good) {
  if (!good) fail(Fault::internal, "OpenSSL refused a P-256 operation, which points to a lack of memory. Try again.");
}

PKey key_from_parts(const PublicKey& public_key, const BIGNUM* secret, int selection) {
  const ParamBuilder builder(OSSL_PARAM_BLD_new());
  require(builder != nullptr);
  require(OSSL_PARAM_BLD_push_utf8_string(builder.get(), OSSL_PKEY_PARAM_GROUP_NAME, SN_X9_62_prime256v1, 0) == 1);
  require(OSSL_PARAM_BLD_push_octet_string(builder.get(), OSSL_PKEY_PARAM_PUB_KEY, public_key.data(),
                                           public_key.size()) == 1);
  if (secret != nullptr) require(OSSL_PARAM_BLD_push_BN(builder.get(), OSSL_PKEY_PARAM_PRIV_KEY, secret) == 1);
  const Params params(OSSL_PARAM_BLD_to_param(builder.get()));
  const KeyContext context(EVP_PKEY_CTX_new_from_name(nullptr, "EC", nullptr));
  require(params && context && EVP_PKEY_fromdata_init(context.get()) == 1);
  EVP_PKEY* raw = nullptr;
  if (EVP_PKEY_fromdata(context.get(), &raw, selection, params.get()) != 1) ERR_clear_error();
  return PKey(raw);
}

/// The public point of a scalar that was checked to be in [1, n - 1].
PublicKey point_of(const EC_GROUP* group, const BIGNUM* secret) {
  const Point point(EC_POINT_new(group));
  require(point && EC_POINT_mul(group, point.get(), secret, nullptr, nullptr, nullptr) == 1);
  PublicKey out{};
  require(EC_POINT_point2oct(group, point.get(), POINT_CONVERSION_UNCOMPRESSED, out.data(), out.size(), nullptr) ==
          out.size());
  return out;
}

/// r || s, each padded to 32 bytes, from OpenSSL's DER.
Signature raw_from_der(const std::uint8_t* der, std::size_t length) {
  const EcSignature parsed(d2i_ECDSA_SIG(nullptr, &der, static_cast<long>(length)));
  require(parsed != nullptr);
  Signature out{};
  require(BN_bn2binpad(ECDSA_SIG_get0_r(parsed.get()), out.data(), 32) == 32);
  require(BN_bn2binpad(ECDSA_SIG_get0_s(parsed.get()), out.data() + 32, 32) == 32);
  return out;
}

/// The length of the DER form written to `der`.
std::size_t der_from_raw(const Signature& raw, std::array<std::uint8_t, kMaxDerBytes>& der) {
  const EcSignature built(ECDSA_SIG_new());
  BigNumber r(BN_bin2bn(raw.data(), 32, nullptr));
  BigNumber s(BN_bin2bn(raw.data() + 32, 32, nullptr));
  require(built && r && s && ECDSA_SIG_set0(built.get(), r.get(), s.get()) == 1);
  static_cast<void>(r.release());  // set0 took both
  static_cast<void>(s.release());
  std::uint8_t* end = der.data();
  const int length = i2d_ECDSA_SIG(built.get(), &end);
  require(length > 0);
  return static_cast<std::size_t>(length);
}

}  // namespace

struct KeyPair::Impl {
  PKey key;
};

KeyPair KeyPair::generate() {
  const PKey drawn(EVP_EC_gen(SN_X9_62_prime256v1));
  BIGNUM* raw = nullptr;
  require(drawn && EVP_PKEY_get_bn_param(drawn.get(), OSSL_PKEY_PARAM_PRIV_KEY, &raw) == 1);
  const BigNumber scalar(raw);
  SecretKey secret{};
  require(BN_bn2binpad(scalar.get(), secret.data(), static_cast<int>(secret.size())) > 0);
  return from_secret(secret);
}

KeyPair KeyPair::from_secret(const SecretKey& secret) {
  const Group group(EC_GROUP_new_by_curve_name(NID_X9_62_prime256v1));
  const BigNumber scalar(BN_bin2bn(secret.data(), static_cast<int>(secret.size()), nullptr));
  require(group && scalar);
  if (BN_is_zero(scalar.get()) || BN_cmp(scalar.get(), EC_GROUP_get0_order(group.get())) >= 0)
    fail(Fault::bad_input,
         "The secret key is outside the range of P-256, so its file is damaged. Restore it from a backup.");
  KeyPair out;
  out.public_key_ = point_of(group.get(), scalar.get());
  PKey key = key_from_parts(out.public_key_, scalar.get(), EVP_PKEY_KEYPAIR);
  require(key != nullptr);
  out.impl_ = std::make_shared<const Impl>(Impl{std::move(key)});
  return out;
}

SecretKey KeyPair::secret() const {
  BIGNUM* raw = nullptr;
  require(EVP_PKEY_get_bn_param(impl_->key.get(), OSSL_PKEY_PARAM_PRIV_KEY, &raw) == 1);
  const BigNumber scalar(raw);
  SecretKey out{};
  require(BN_bn2binpad(scalar.get(), out.data(), static_cast<int>(out.size())) > 0);
  return out;
}

Signature KeyPair::sign(ByteSpan message) const {
  const DigestContext context(EVP_MD_CTX_new());
  require(context &&
          EVP_DigestSignInit_ex(context.get(), nullptr, "SHA256", nullptr, nullptr, impl_->key.get(), nullptr) == 1);
  std::array<std::uint8_t, kMaxDerBytes> der{};
  std::size_t length = der.size();
  require(EVP_DigestSign(context.get(), der.data(), &length, message.data(), message.size()) == 1);
  return raw_from_der(der.data(), length);
}

struct Verifier::Impl {
  PKey key;
};

Verifier::Verifier(const PublicKey& key) {
  PKey point = key[0] == POINT_CONVERSION_UNCOMPRESSED ? key_from_parts(key, nullptr, EVP_PKEY_PUBLIC_KEY) : nullptr;
  if (!point)
    fail(Fault::bad_input, "The public key is no point of P-256, so it was damaged on its way. Ask for it again.");
  impl_ = std::make_shared<const Impl>(Impl{std::move(point)});
}

bool Verifier::verify(ByteSpan message, const Signature& signature) const {
  std::array<std::uint8_t, kMaxDerBytes> der{};
  const std::size_t length = der_from_raw(signature, der);
  const DigestContext context(EVP_MD_CTX_new());
  require(context &&
          EVP_DigestVerifyInit_ex(context.get(), nullptr, "SHA256", nullptr, nullptr, impl_->key.get(), nullptr) == 1);
  const bool good = EVP_DigestVerify(context.get(), der.data(), length, message.data(), message.size()) == 1;
  if (!good) ERR_clear_error();
  return good;
}

DeviceId device_id_of(const PublicKey& key) {
  const Hash hash = sha256(ByteSpan(key));
  DeviceId out{};
  std::copy_n(hash.begin(), out.size(), out.begin());
  return out;
}

void fill_random(std::span<std::uint8_t> out) {
  if (RAND_bytes(out.data(), static_cast<int>(out.size())) != 1)
    fail(Fault::internal, "The system gave no random bytes, so nothing secret can be made. Restart the machine.");
}

}  // namespace rackside::core
