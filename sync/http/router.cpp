#include "sync/http/router.h"

namespace rackside::sync::http {
namespace {

bool matches(const Route& route, std::string_view path) {
  if (route.match == Route::Match::whole) return path == route.path;
  return path == route.path || (path.starts_with(route.path) && (route.path.empty() || path[route.path.size()] == '/'));
}

std::string_view method_of_route(std::string_view method) {
  return method == "HEAD" ? "GET" : method;
}

Response not_allowed(const std::string& allowed) {
  Response out = error_response(405, "bad-request", "This address does not take that method.");
  out.fields.push_back({"Allow", allowed});
  return out;
}

}  // namespace

void Router::add(const std::string& method, const std::string& path, Handler handler, RouteOptions options) {
  const bool beginning = path.ends_with("/*");
  routes_.push_back({method, beginning ? path.substr(0, path.size() - 2) : path,
                     beginning ? Route::Match::beginning : Route::Match::whole, std::move(handler),
                     std::move(options)});
}

std::variant<const Route*, Response> Router::find(std::string_view method, std::string_view path) const {
  const Route* best = nullptr;
  std::string others;
  for (const Route& route : routes_) {
    if (!matches(route, path)) continue;
    if (route.method != method_of_route(method))
      others += (others.empty() ? "" : ", ") + route.method;
    else if (best == nullptr || route.path.size() > best->path.size() || route.match == Route::Match::whole)
      best = &route;
  }
  if (best != nullptr) return best;
  if (!others.empty()) return not_allowed(others);
  return error_response(404, "not-found", "There is nothing at this address.");
}

}  // namespace rackside::sync::http
