#pragma once

#include <string>

#include "cli/session.h"
#include "sync/protocol/exchange.h"

namespace rackside::cli {

// The verbs of cli/verbs_sync.cpp, one function each.

struct SyncOptions {
  std::string with;     ///< a book, an address of the hub, "-" for standard input and output; empty: the hub joined
  std::string command;  ///< a program that speaks the protocol on its input and output
  std::string out;      ///< a bundle to write
  std::string in;       ///< a bundle to read
  bool own_only = false;
};
void run_sync(Session& session, const SyncOptions& options);

struct ServeOptions {
  std::string listen;
  int port = -1;       ///< -1: the usual one; 0: a free one
  int join_port = -1;  ///< of the plain page for new phones; -1: the usual one, or a free one where `port` is 0
  std::string name;
  std::string ready_file;
  bool plain = false;
};
void run_serve(Session& session, const ServeOptions& options);

struct InviteOptions {
  std::string role = "helper";
  std::string person;
  std::string sheet;  ///< a PDF to write for new phones; empty: none
  std::string png;    ///< beginning of the names of the pictures to write; empty: none
};
void run_invite(Session& session, const InviteOptions& options);

struct JoinOptions {
  std::string url;
  std::string code;
  std::string device_name;
};
void run_join(Session& session, const JoinOptions& options);

void run_devices(Session& session);
void run_rename(Session& session, const std::string& device, const std::string& name);
void run_retire(Session& session, const std::string& device);

/// The session's raw clock for the protocol.
sync::ClockSource clock_of(const Session& session);
/// Shows how far a long exchange is.
sync::OnProgress progress_of(const Session& session);
/// What an exchange brought, in one line, or as JSON.
class SyncReport {
 public:
  explicit SyncReport(Session& session);  ///< before the exchange: counts the open questions
  void print(const sync::SyncResult& result);

 private:
  std::size_t open_questions();
  std::string devices_in_words(const std::vector<core::DeviceId>& devices);

  Session& session_;
  std::size_t questions_before_ = 0;
};

}  // namespace rackside::cli
