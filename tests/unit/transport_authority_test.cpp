// The hub's authority, judged by OpenSSL's own verifier: in the process (X509_verify_cert) and by the openssl program.
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "core/base/error.h"
#include "sync/tls/authority.h"
#include "sync/tls/names.h"
#include "tests/support/catch.h"

using namespace rackside;
using namespace rackside::sync::tls;
using rackside::tests::contains;

namespace {

constexpr std::int64_t kNow = 1'767'225'600'000;  // 2026-01-01 00:00 UTC

HubIdentity test_identity() {
  return create_identity("rack-test.local", {"192.168.1.20", "fd00::20"}, kNow);
}

Verification verify(const HubIdentity& identity, std::int64_t now_ms = kNow) {
  return verify_chain(identity.root, identity.intermediate, identity.leaf, now_ms);
}

/// A folder with the identity's parts as files, for the openssl program.
class Folder {
 public:
  explicit Folder(const HubIdentity& identity) {
    std::string pattern = (std::filesystem::temp_directory_path() / "rackside-authority-XXXXXX").string();
    if (::mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no temporary folder");
    path_ = pattern;
    write("root.pem", identity.root);
    write("intermediate.pem", identity.intermediate);
    write("intermediate.key", identity.intermediate_key);
    write("leaf.pem", identity.leaf);
  }
  ~Folder() { std::filesystem::remove_all(path_); }

  void write(const std::string& name, const std::string& text) { std::ofstream(path_ + "/" + name) << text; }

  /// What the program says, on both outputs.
  std::string openssl(const std::string& arguments) const {
    const std::string command = "cd '" + path_ + "' && openssl " + arguments + " 2>&1";
    FILE* pipe = ::popen(command.c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::string out;
    std::array<char, 4096> piece;
    for (std::size_t got; (got = std::fread(piece.data(), 1, piece.size(), pipe)) > 0;) out.append(piece.data(), got);
    ::pclose(pipe);
    return out;
  }

  std::string verify(const std::string& options = "") const {
    return openssl("verify -attime " + std::to_string(kNow / 1000) + " -purpose sslserver -CAfile root.pem " +
                   "-untrusted intermediate.pem " + options + " leaf.pem");
  }

 private:
  std::string path_;
};

core::Fault fault_of_reading(const std::string& text) {
  try {
    identity_from_text(text);
  } catch (const core::Error& error) {
    return error.fault();
  }
  return core::Fault::internal;
}

}  // namespace

TEST_CASE("a fresh authority's leaf verifies, by name and by address", "[transport]") {
  const HubIdentity identity = test_identity();
  CHECK(verify(identity).verdict == Verdict::trusted);
  const Folder folder(identity);
  CHECK(folder.verify() == "leaf.pem: OK\n");
  for (const std::string name : {"rack-test.local", "localhost"})
    CHECK(folder.verify("-verify_hostname " + name) == "leaf.pem: OK\n");
  for (const std::string address : {"127.0.0.1", "::1", "192.168.1.20", "fd00::20"})
    CHECK(folder.verify("-verify_ip " + address) == "leaf.pem: OK\n");
  CHECK(!contains(folder.verify("-verify_hostname evil.example"), "OK\n"));
}

TEST_CASE("a leaf for anything outside the constraints is turned down", "[transport]") {
  HubIdentity identity = test_identity();
  const std::vector<std::string> foreign = {"evil.example", "other.local", "local", "rack-test.local.evil.example",
                                            "xrack-test.local"};
  for (const std::string& name : foreign) {
    CAPTURE(name);
    issue_leaf(identity, {identity.name, name}, {}, kNow);
    CHECK(verify(identity).verdict == Verdict::untrusted);
    CHECK(contains(Folder(identity).verify(), "permitted subtree violation"));
  }
  for (const std::string address :
       {"8.8.8.8", "11.0.0.0", "9.255.255.255", "172.15.255.255", "172.32.0.0", "192.167.0.1", "192.169.0.1",
        "169.253.0.1", "128.0.0.1", "2001:db8::1", "::2", "fec0::1"}) {
    CAPTURE(address);
    issue_leaf(identity, {identity.name}, {address}, kNow);
    CHECK(verify(identity).reason == "permitted subtree violation");
    CHECK(!is_private_address(address));
  }
}

TEST_CASE("every private range is inside the constraints", "[transport]") {
  HubIdentity identity = test_identity();
  for (const std::string address :
       {"10.0.0.0", "10.255.255.255", "172.16.0.1", "172.31.255.255", "192.168.0.1", "192.168.255.255", "127.0.0.1",
        "127.255.255.255", "169.254.0.1", "169.254.255.255", "fc00::1", "fdff::1", "fe80::1", "febf::1", "::1"}) {
    CAPTURE(address);
    issue_leaf(identity, {identity.name}, {address}, kNow);
    CHECK(verify(identity).verdict == Verdict::trusted);
    CHECK(is_private_address(address));
  }
}

TEST_CASE("root and intermediate are constrained critically, each by itself", "[transport]") {
  const Folder folder(test_identity());
  for (const std::string file : {"root.pem", "intermediate.pem"}) {
    const std::string text = folder.openssl("x509 -noout -text -in " + file);
    CHECK(contains(text, "X509v3 Name Constraints: critical"));
    CHECK(contains(text, "DNS:rack-test.local"));
    CHECK(contains(text, "IP:172.16.0.0/255.240.0.0"));
    CHECK(contains(text, "X509v3 Basic Constraints: critical"));
    CHECK(contains(text, file == "root.pem" ? "CA:TRUE, pathlen:1" : "CA:TRUE, pathlen:0"));
    CHECK(contains(text, "Certificate Sign, CRL Sign"));
  }
}

TEST_CASE("the leaf has the form that phones ask for", "[transport]") {
  const HubIdentity identity = test_identity();
  const std::string text = Folder(identity).openssl("x509 -noout -text -in leaf.pem");
  CHECK(contains(text, "ecdsa-with-SHA256"));
  CHECK(contains(text, "NIST CURVE: P-256"));
  CHECK(contains(text, "TLS Web Server Authentication"));
  CHECK(contains(text, "Not Before: Dec 30 00:00:00 2025 GMT"));
  CHECK(contains(text, "Not After : Jan 30 23:59:59 2027 GMT"));  // 397 days (Apple, support article 103769)
}

TEST_CASE("the hub's key cannot make another authority", "[transport]") {
  HubIdentity identity = test_identity();
  Folder folder(identity);
  folder.write("sub.ext", "basicConstraints=critical,CA:TRUE\nkeyUsage=critical,keyCertSign\n");
  folder.write("leaf.ext", "subjectAltName=DNS:rack-test.local\nextendedKeyUsage=serverAuth\n");
  folder.openssl(
      "req -new -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -subj /CN=sub -keyout sub.key -out sub.csr");
  folder.openssl("x509 -req -in sub.csr -CA intermediate.pem -CAkey intermediate.key -extfile sub.ext -out sub.pem");
  folder.openssl(
      "req -new -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -subj /CN=leaf -keyout leaf.key -out leaf.csr");
  folder.openssl("x509 -req -in leaf.csr -CA sub.pem -CAkey sub.key -extfile leaf.ext -out leaf.pem");
  const std::string answer =
      folder.openssl("verify -no_check_time -CAfile root.pem -untrusted intermediate.pem -untrusted sub.pem leaf.pem");
  CHECK(contains(answer, "path length constraint exceeded"));
}

TEST_CASE("the root's key exists nowhere", "[transport]") {
  const HubIdentity identity = test_identity();
  const std::string text = to_text(identity);
  std::size_t keys = 0;
  for (std::size_t at = text.find("BEGIN PRIVATE KEY"); at != text.npos; at = text.find("BEGIN PRIVATE KEY", at + 1))
    ++keys;
  CHECK(keys == 2);
  Folder folder(identity);
  folder.write("leaf.key", identity.leaf_key);
  const std::string root_public = folder.openssl("x509 -noout -pubkey -in root.pem");
  CHECK(contains(root_public, "BEGIN PUBLIC KEY"));
  CHECK(folder.openssl("pkey -pubout -in intermediate.key") != root_public);
  CHECK(folder.openssl("pkey -pubout -in leaf.key") != root_public);
}

TEST_CASE("a leaf is renewed when under 30 days are left, and only then", "[transport]") {
  HubIdentity identity = test_identity();
  const HubIdentity before = identity;
  const std::vector<std::string> addresses = {"192.168.1.20", "fd00::20"};
  CHECK(renew_leaf(identity, addresses, kNow) == Renewal::not_needed);
  CHECK(renew_leaf(identity, addresses, kNow + 364 * kDayMs) == Renewal::not_needed);
  CHECK(identity.leaf == before.leaf);
  const std::int64_t late = kNow + 366 * kDayMs;
  CHECK(renew_leaf(identity, addresses, late) == Renewal::done);
  CHECK(identity.leaf != before.leaf);
  CHECK(identity.root == before.root);
  CHECK(identity.intermediate == before.intermediate);
  CHECK(verify(identity, late + 390 * kDayMs).verdict == Verdict::trusted);
  CHECK(verify(before, late + 390 * kDayMs).reason == "certificate has expired");
  CHECK(expires_at_ms(identity.leaf) == late + 395 * kDayMs - 1000);
}

TEST_CASE("a leaf is renewed for a new address of the hub and for a clock that was wrong", "[transport]") {
  HubIdentity identity = test_identity();
  CHECK(renew_leaf(identity, {"192.168.1.21"}, kNow) == Renewal::done);
  CHECK(Folder(identity).verify("-verify_ip 192.168.1.21") == "leaf.pem: OK\n");
  CHECK(renew_leaf(identity, {"192.168.1.21", "8.8.8.8"}, kNow) == Renewal::not_needed);  // public: never in a leaf
  CHECK(verify(identity).verdict == Verdict::trusted);
  CHECK(renew_leaf(identity, {"192.168.1.21"}, kNow - 10 * kDayMs) == Renewal::done);
}

TEST_CASE("the fingerprint is the one that openssl shows", "[transport]") {
  const HubIdentity identity = test_identity();
  std::string shown = Folder(identity).openssl("x509 -noout -fingerprint -sha256 -in root.pem");
  shown = shown.substr(shown.find('=') + 1);
  std::erase(shown, ':');
  std::erase(shown, '\n');
  std::string ours = grouped_fingerprint(fingerprint(identity.root));
  CHECK(ours.size() == 64 + 15);
  std::erase(ours, ' ');
  CHECK(ours == shown);
  CHECK(to_der(identity.root).size() > 300);
}

TEST_CASE("an identity survives its text form, and a damaged one is refused", "[transport]") {
  const HubIdentity identity = test_identity();
  const std::string text = to_text(identity);
  const HubIdentity read = identity_from_text(text);
  CHECK(to_text(read) == text);
  CHECK(read.name == "rack-test.local");
  for (std::size_t size = 0; size + 2 < text.size(); size += 37)
    CHECK(fault_of_reading(text.substr(0, size)) == core::Fault::bad_input);

  HubIdentity mixed = identity;
  mixed.leaf_key = test_identity().leaf_key;
  CHECK(fault_of_reading(to_text(mixed)) == core::Fault::bad_input);
  mixed = identity;
  mixed.name = "rack-other.local";
  CHECK(fault_of_reading(to_text(mixed)) == core::Fault::bad_input);
}

TEST_CASE("a hub's name is random and its own, or a proper one that is given", "[transport]") {
  const std::array<std::uint8_t, 5> low{}, high{255, 255, 255, 255, 255}, some{0x12, 0x34, 0x56, 0x78, 0x9a};
  CHECK(random_hub_name(low) == "rack-00000000.local");
  CHECK(random_hub_name(high) == "rack-zzzzzzzz.local");
  CHECK(random_hub_name(some) == "rack-28t5cy4t.local");  // 5 bits a character, worked out by hand
  for (const std::string good : {"snakes.local", "a.b.c", "x-1.lan"}) CHECK(is_hub_name(good));
  CHECK(is_hub_name(random_hub_name(some)));
  for (const std::string bad : {"", "hub", "Hub.local", ".local", "a..b", "-a.local", "a-.local", "10.0.0.1",
                                "a b.local", "a.local.", "*.local", "a,DNS:evil.example", "a.local/x"}) {
    CHECK(!is_hub_name(bad));
    CHECK_THROWS_AS(create_identity(bad, {}, kNow), core::Error);
  }
  CHECK(is_hub_name(std::string(63, 'a') + ".local"));
  CHECK(!is_hub_name(std::string(64, 'a') + ".local"));
}
