#include <string>

#include "core/base/bytes.h"
#include "core/base/error.h"
#include "core/crypto/key.h"
#include "core/crypto/sha256.h"
#include "tests/support/catch.h"

namespace {

using namespace rackside::core;

template <std::size_t N>
std::array<std::uint8_t, N> hex(std::string_view text) {
  const auto out = array_from_hex<N>(text);
  REQUIRE(out);
  return *out;
}

// Source: the examples of FIPS 180 (one block, two blocks, a million times "a") and the empty text of NIST's CAVP; from
// memory, and the same as sha256sum of coreutils gives.
TEST_CASE("SHA-256 gives the digests of FIPS 180") {
  CHECK(to_hex(sha256(as_bytes("abc"))) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(to_hex(sha256(as_bytes("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"))) ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  CHECK(to_hex(sha256(as_bytes(""))) == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  CHECK(to_hex(sha256(as_bytes(std::string(1000000, 'a')))) ==
        "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST_CASE("SHA-256 of parts is that of the whole") {
  CHECK(sha256({as_bytes("a"), as_bytes(""), as_bytes("bc")}) == sha256(as_bytes("abc")));
}

TEST_CASE("hexadecimal takes both cases and nothing else") {
  CHECK(hex<2>("00fF") == std::array<std::uint8_t, 2>{0, 255});
  CHECK_FALSE(array_from_hex<2>("00f").has_value());
  CHECK_FALSE(array_from_hex<2>("00fg").has_value());
  CHECK_FALSE(array_from_hex<2>("00ff00").has_value());
  CHECK(to_hex(hex<3>("00Ab9f")) == "00ab9f");
}

// Source: RFC 6979, appendix A.2.5 (NIST P-256 with SHA-256, messages "sample" and "test").
constexpr std::string_view kSecret = "c9afa9d845ba75166b5c215767b1d6934e50c3db36e89b127b8a622b120f6721";
constexpr std::string_view kPublic =
    "0460fed4ba255a9d31c961eb74c6356d68c049b8923b61fa6ce669622e60f29fb6"
    "7903fe1008b8bc99a41ae9e95628bc64f2f1b20c2d7e9f5177a3c294d4462299";
constexpr std::string_view kSampleSignature =
    "efd48b2aacb6a8fd1140dd9cd45e81d69d2c877b56aaf991c34d0ea84eaf3716"
    "f7cb1c942d657c41d436c7a1b6e29f65f3e900dbb9aff4064dc4ab2f843acda8";
// Its s begins with a zero bit and small bytes: DER shortens it, r||s must not.
constexpr std::string_view kTestSignature =
    "f1abb023518351cd71d881567b1ea663ed3efcf6c5132b354f28d3b0b7d38367"
    "019f4113742a2b14bd25926b49c649155f267e60d3814b4c0cc84250e46f0083";

TEST_CASE("the public key of RFC 6979 follows from its secret") {
  const KeyPair key = KeyPair::from_secret(hex<32>(kSecret));
  CHECK(to_hex(key.public_key()) == kPublic);
  CHECK(to_hex(key.secret()) == kSecret);
}

TEST_CASE("the signatures of RFC 6979 verify, and no others do") {
  const Verifier verifier(hex<65>(kPublic));
  CHECK(verifier.verify(as_bytes("sample"), hex<64>(kSampleSignature)));
  CHECK(verifier.verify(as_bytes("test"), hex<64>(kTestSignature)));
  CHECK_FALSE(verifier.verify(as_bytes("Sample"), hex<64>(kSampleSignature)));
  CHECK_FALSE(verifier.verify(as_bytes("sample"), hex<64>(kTestSignature)));
  CHECK_FALSE(verifier.verify(as_bytes("sample"), Signature{}));
  Signature all_ones;
  all_ones.fill(0xFF);
  CHECK_FALSE(verifier.verify(as_bytes("sample"), all_ones));
}

TEST_CASE("any changed bit of a signature is noticed") {
  const Verifier verifier(hex<65>(kPublic));
  for (std::size_t bit = 0; bit < 512; ++bit) {
    Signature changed = hex<64>(kSampleSignature);
    changed[bit / 8] = static_cast<std::uint8_t>(changed[bit / 8] ^ (1U << (bit % 8)));
    REQUIRE_FALSE(verifier.verify(as_bytes("sample"), changed));
  }
}

TEST_CASE("what a new key signs verifies under its public key only") {
  const KeyPair key = KeyPair::generate();
  const Verifier own(key.public_key());
  const Verifier other(KeyPair::generate().public_key());
  // Many signatures, so that short r and s, which DER shortens, occur.
  for (int i = 0; i < 300; ++i) {
    const std::string message = "head " + std::to_string(i);
    const Signature signature = key.sign(as_bytes(message));
    REQUIRE(own.verify(as_bytes(message), signature));
    REQUIRE_FALSE(other.verify(as_bytes(message), signature));
  }
}

TEST_CASE("a key survives being stored") {
  const KeyPair key = KeyPair::generate();
  const KeyPair again = KeyPair::from_secret(key.secret());
  CHECK(again.public_key() == key.public_key());
  CHECK(Verifier(key.public_key()).verify(as_bytes("x"), again.sign(as_bytes("x"))));
}

// Source of the order: SEC 2, section 2.4.2 (secp256r1).
TEST_CASE("scalars outside the group are refused") {
  CHECK_THROWS_AS(KeyPair::from_secret(SecretKey{}), Error);
  CHECK_THROWS_AS(KeyPair::from_secret(hex<32>("ffffffff00000000ffffffffffffffffbce6faada7179e84f3b9cac2fc632551")),
                  Error);
  CHECK_NOTHROW(KeyPair::from_secret(hex<32>("ffffffff00000000ffffffffffffffffbce6faada7179e84f3b9cac2fc632550")));
}

TEST_CASE("points off the curve are refused") {
  PublicKey off = hex<65>(kPublic);
  off[64] ^= 1;
  CHECK_THROWS_AS(Verifier(off), Error);
  CHECK_THROWS_AS(Verifier(PublicKey{}), Error);
  PublicKey hybrid = hex<65>(kPublic);
  hybrid[0] = 7;
  CHECK_THROWS_AS(Verifier(hybrid), Error);
}

TEST_CASE("a device is named by the first bytes of its key's digest") {
  const PublicKey key = hex<65>(kPublic);
  CHECK(to_hex(device_id_of(key)) == to_hex(sha256(ByteSpan(key))).substr(0, 16));
}

TEST_CASE("random bytes differ from call to call") {
  CHECK(random_array<16>() != random_array<16>());
}

}  // namespace
