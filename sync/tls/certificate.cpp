#include "sync/tls/certificate.h"

#include <openssl/err.h>

#include "sync/tls/names.h"

namespace rackside::sync::tls {
namespace {

constexpr std::int64_t kSecondMs = 1000;

void set_random_serial(X509* certificate) {
  // 159 random bits with the top one set: positive, not zero, at most 20 octets (RFC 5280, 4.1.2.2).
  std::unique_ptr<BIGNUM, Freer<BN_free>> number(require_object(BN_new(), "make a number"));
  require(BN_rand(number.get(), 159, BN_RAND_TOP_ONE, BN_RAND_BOTTOM_ANY), "draw a serial number");
  require_object(BN_to_ASN1_INTEGER(number.get(), X509_get_serialNumber(certificate)), "set a serial number");
}

void set_time(ASN1_TIME* field, std::int64_t ms) {
  require_object(ASN1_TIME_set(field, static_cast<time_t>(ms / kSecondMs)), "set a time");
}

void add_name(X509_NAME* name, const char* field, const std::string& text) {
  const auto* bytes = reinterpret_cast<const unsigned char*>(text.c_str());
  require(X509_NAME_add_entry_by_txt(name, field, MBSTRING_UTF8, bytes, static_cast<int>(text.size()), -1, 0),
          "set a name");
}

/// A common name holds 64 characters (RFC 5280, appendix A.1); what verifies is the alternative name, not this one.
std::string common_name(const std::string& text) {
  return text.substr(0, 64);
}

CertPtr start_certificate(const std::string& subject, EVP_PKEY* key, Period valid) {
  CertPtr out(require_object(X509_new(), "make a certificate"));
  require(X509_set_version(out.get(), X509_VERSION_3), "set a version");
  set_random_serial(out.get());
  set_time(X509_getm_notBefore(out.get()), valid.from_ms);
  set_time(X509_getm_notAfter(out.get()), valid.until_ms);
  add_name(X509_get_subject_name(out.get()), "O", "Rackside");
  add_name(X509_get_subject_name(out.get()), "CN", common_name(subject));
  require(X509_set_pubkey(out.get(), key), "set a public key");
  return out;
}

void extend(X509* certificate, X509* issuer, int kind, const std::string& value) {
  X509V3_CTX context;
  X509V3_set_ctx(&context, issuer, certificate, nullptr, nullptr, 0);
  X509V3_set_ctx_nodb(&context);
  const std::unique_ptr<X509_EXTENSION, Freer<X509_EXTENSION_free>> extension(
      require_object(X509V3_EXT_conf_nid(nullptr, &context, kind, value.c_str()), "read \"" + value + "\""));
  require(X509_add_ext(certificate, extension.get(), -1), "add an extension");
}

CertPtr sign(CertPtr certificate, X509* issuer, EVP_PKEY* issuer_key) {
  require(X509_set_issuer_name(certificate.get(), X509_get_subject_name(issuer)), "set an issuer");
  extend(certificate.get(), issuer, NID_subject_key_identifier, "hash");
  extend(certificate.get(), issuer, NID_authority_key_identifier, "keyid:always");
  if (X509_sign(certificate.get(), issuer_key, EVP_sha256()) == 0) fail("sign a certificate");
  return certificate;
}

std::string alternative_names(const LeafNames& subject) {
  std::string out;
  for (const std::string& name : subject.names) out += (out.empty() ? "DNS:" : ",DNS:") + name;
  for (const std::string& address : subject.addresses) out += (out.empty() ? "IP:" : ",IP:") + address;
  return out;
}

std::int64_t to_ms(const ASN1_TIME* time) {
  int days = 0, seconds = 0;
  const std::unique_ptr<ASN1_TIME, Freer<ASN1_TIME_free>> epoch(
      require_object(ASN1_TIME_set(nullptr, 0), "set a time"));
  require(ASN1_TIME_diff(&days, &seconds, epoch.get(), time), "read a time");
  return (days * std::int64_t{86'400} + seconds) * kSecondMs;
}

StackPtr stack_of(const std::vector<X509*>& certificates) {
  StackPtr out(require_object(sk_X509_new_null(), "make a list"));
  for (X509* certificate : certificates) sk_X509_push(out.get(), share(certificate).release());
  return out;
}

}  // namespace

KeyPtr generate_key() {
  return KeyPtr(require_object(EVP_EC_gen("P-256"), "make a key"));
}

CertPtr make_root(const std::string& hub, EVP_PKEY* key, Period valid) {
  CertPtr out = start_certificate(hub + " (root)", key, valid);
  extend(out.get(), out.get(), NID_basic_constraints, "critical,CA:TRUE,pathlen:1");
  extend(out.get(), out.get(), NID_key_usage, "critical,keyCertSign,cRLSign");
  extend(out.get(), out.get(), NID_name_constraints, name_constraints(hub));
  X509* self = out.get();
  return sign(std::move(out), self, key);
}

CertPtr make_intermediate(const std::string& hub, X509* root, EVP_PKEY* root_key, EVP_PKEY* key, Period valid) {
  CertPtr out = start_certificate(hub + " (hub)", key, valid);
  extend(out.get(), root, NID_basic_constraints, "critical,CA:TRUE,pathlen:0");
  extend(out.get(), root, NID_key_usage, "critical,keyCertSign,cRLSign");
  extend(out.get(), root, NID_ext_key_usage, "serverAuth");
  extend(out.get(), root, NID_name_constraints, name_constraints(hub));
  return sign(std::move(out), root, root_key);
}

CertPtr make_leaf(const LeafNames& subject, X509* issuer, EVP_PKEY* issuer_key, EVP_PKEY* key, Period valid) {
  CertPtr out = start_certificate(subject.names.front(), key, valid);
  extend(out.get(), issuer, NID_basic_constraints, "critical,CA:FALSE");
  extend(out.get(), issuer, NID_key_usage, "critical,digitalSignature");
  extend(out.get(), issuer, NID_ext_key_usage, "serverAuth");
  extend(out.get(), issuer, NID_subject_alt_name, alternative_names(subject));
  return sign(std::move(out), issuer, issuer_key);
}

Period period_of(X509* certificate) {
  return {to_ms(X509_get0_notBefore(certificate)), to_ms(X509_get0_notAfter(certificate))};
}

core::Hash fingerprint_of(X509* certificate) {
  core::Hash out{};
  unsigned int size = 0;
  require(X509_digest(certificate, EVP_sha256(), out.data(), &size), "digest a certificate");
  return out;
}

std::string why_untrusted(X509* anchor, const std::vector<X509*>& others, X509* leaf,
                          std::optional<std::int64_t> now_ms) {
  const StorePtr store(require_object(X509_STORE_new(), "make a store"));
  require(X509_STORE_add_cert(store.get(), anchor), "trust a certificate");
  const StoreContextPtr context(require_object(X509_STORE_CTX_new(), "make a verifier"));
  const StackPtr between = stack_of(others);
  require(X509_STORE_CTX_init(context.get(), store.get(), leaf, between.get()), "start a verifier");
  X509_STORE_CTX_set_purpose(context.get(), X509_PURPOSE_SSL_SERVER);
  if (now_ms)
    X509_STORE_CTX_set_time(context.get(), 0, static_cast<time_t>(*now_ms / kSecondMs));
  else
    X509_STORE_CTX_set_flags(context.get(), X509_V_FLAG_NO_CHECK_TIME);
  const bool trusted = X509_verify_cert(context.get()) == 1;
  ERR_clear_error();
  return trusted ? "" : X509_verify_cert_error_string(X509_STORE_CTX_get_error(context.get()));
}

}  // namespace rackside::sync::tls
