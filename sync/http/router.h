#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "sync/http/message.h"
#include "sync/http/server.h"

namespace rackside::sync::http {

struct Route {
  std::string method;
  std::string path;  ///< without the "/*"
  enum class Match { whole, beginning } match = Match::whole;
  Handler handler;
  RouteOptions options;
};

/// The routes of a server. Filled before it listens, only read afterwards.
class Router {
 public:
  void add(const std::string& method, const std::string& path, Handler handler, RouteOptions options);
  /// The route, or the answer 404 or 405.
  std::variant<const Route*, Response> find(std::string_view method, std::string_view path) const;

 private:
  std::vector<Route> routes_;
};

}  // namespace rackside::sync::http
