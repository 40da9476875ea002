#include "sync/page/serve/page_routes.h"

#include "core/codes/code.h"
#include "sync/page/serve/assets.h"
#include "sync/protocol/lines.h"

namespace rackside::sync::page {

using http::Request;
using http::Response;

namespace {

constexpr std::string_view kReaderWorker = "/scan/reader_worker.mjs";
constexpr std::string_view kBasePolicy =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; media-src 'self' blob:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'; object-src 'none'";
/// What a page may use of the phone: its camera and nothing else.
constexpr std::string_view kPermissions = "camera=(self), microphone=(), geolocation=(), usb=(), payment=()";

Response file_response(const Asset& asset, const Request& request) {
  Response out;
  out.cache_control = "no-cache";
  out.fields = {{"ETag", std::string(asset.etag)}, {"Permissions-Policy", std::string(kPermissions)}};
  if (request.field("if-none-match").value_or("") == asset.etag) {
    out.status = 304;
    out.content_type = asset.type;
    return out;
  }
  out.content_type = asset.type;
  out.fields.push_back({"Content-Encoding", "gzip"});
  out.body = asset.gzip;
  return out;
}

http::Handler file_handler(const Asset& asset, std::string policy) {
  return [asset, policy = std::move(policy)](const Request& request) {
    Response out = file_response(asset, request);
    if (!policy.empty()) out.fields.push_back({"Content-Security-Policy", policy});
    return out;
  };
}

void add_files(http::Server& server, const std::vector<Asset>& assets) {
  for (const Asset& asset : assets) {
    std::string policy;
    // The scanner is the only code that needs it, so nothing else may.
    if (asset.path == kReaderWorker)
      policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'";
    server.route("GET", std::string(asset.path), file_handler(asset, policy));
    if (asset.path == "/index.html") server.route("GET", "/", file_handler(asset, ""));
  }
}

/// Answers any page: it says only that a TLS connection was made, which is what the plain page wants to know.
Response trusted(const Request&) {
  Response out;
  out.body = "{\"trusted\":true}";
  out.fields = {{"Access-Control-Allow-Origin", "*"}, {"Cross-Origin-Resource-Policy", "cross-origin"}};
  return out;
}

const Asset* find(const std::vector<Asset>& assets, std::string_view path) {
  for (const Asset& asset : assets)
    if (asset.path == path) return &asset;
  return nullptr;
}

}  // namespace

std::string app_policy() {
  return std::string(kBasePolicy);
}

std::string trust_policy(const TrustFacts& facts) {
  return "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self' " +
         facts.secure_url + "; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
}

void add_app_routes(http::Server& server) {
  static const std::vector<Asset> assets = app_assets();
  add_files(server, assets);
  // The address in a join code: the code itself stands in the fragment, which never travels.
  if (const Asset* index = find(assets, "/index.html")) server.route("GET", "/join", file_handler(*index, ""));
  server.route("GET", "/trusted", trusted);
  // A label with a link, read by the phone's own camera app: the page opens what it names.
  const Asset* index = find(assets, "/index.html");
  server.route("GET", "/*", [index](const Request& request) {
    if (index != nullptr && core::read_code(std::string_view(request.path).substr(1)).code)
      return file_response(*index, request);
    return http::error_response(404, "not-found", "There is nothing at this address.");
  });
}

void add_trust_routes(http::Server& server, const TrustFacts& facts) {
  static const std::vector<Asset> assets = trust_assets();
  add_files(server, assets);
  server.route("GET", "/authority.crt", [facts](const Request&) {
    Response out;
    out.content_type = "application/x-x509-ca-cert";
    out.fields = {{"Content-Disposition", "attachment; filename=\"rackside-hub.crt\""}};
    out.body = facts.authority_der;
    return out;
  });
  server.route("GET", "/facts.json", [facts](const Request&) {
    Response out;
    out.body = to_line(
        core::Value::Object{{"url", facts.secure_url}, {"name", facts.hub_name}, {"sha256", facts.fingerprint}});
    return out;
  });
}

}  // namespace rackside::sync::page
