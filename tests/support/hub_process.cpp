#include "tests/support/hub_process.h"

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <thread>

#include "tests/support/catch.h"

extern char** environ;

namespace rackside::tests {

using namespace core;

namespace {

std::int64_t milliseconds(clockid_t clock) {
  timespec time{};
  ::clock_gettime(clock, &time);
  return std::int64_t{time.tv_sec} * 1000 + time.tv_nsec / 1'000'000;
}

}  // namespace

Process::Process(const std::vector<std::string>& arguments, const std::string& log) : log_(log) {
  const std::string program = RACKSIDE_BINARY_DIR "/rackside";
  std::vector<std::string> words = {program};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> pointers;
  for (std::string& word : words) pointers.push_back(word.data());
  pointers.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  const int flags = O_WRONLY | O_CREAT | O_TRUNC;
  posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, (log_ + ".out").c_str(), flags, 0600);
  posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, (log_ + ".err").c_str(), flags, 0600);
  REQUIRE(::posix_spawn(&process_, program.c_str(), &actions, nullptr, pointers.data(), environ) == 0);
  posix_spawn_file_actions_destroy(&actions);
}

Process::~Process() {
  if (process_ < 0) return;
  signal(SIGKILL);
  wait();
}

Process& Process::operator=(Process&& other) noexcept {
  std::swap(process_, other.process_);
  std::swap(status_, other.status_);
  std::swap(peak_kib_, other.peak_kib_);
  std::swap(log_, other.log_);
  return *this;
}

bool Process::running() {
  int raw = 0;
  if (process_ < 0 || ::waitpid(process_, &raw, WNOHANG) == 0) return process_ >= 0;
  status_ = WIFEXITED(raw) ? WEXITSTATUS(raw) : 128 + WTERMSIG(raw);
  process_ = -1;
  return false;
}

void Process::signal(int number) const {
  if (process_ >= 0) ::kill(process_, number);
}

int Process::wait() {
  if (process_ < 0) return status_;
  int raw = 0;
  rusage used{};
  while (::wait4(process_, &raw, 0, &used) < 0 && errno == EINTR) {
  }
  peak_kib_ = used.ru_maxrss;
  process_ = -1;
  return status_ = WIFEXITED(raw) ? WEXITSTATUS(raw) : 128 + WTERMSIG(raw);
}

std::string Process::output() const {
  return read_text(log_ + ".out");
}
std::string Process::errors() const {
  return read_text(log_ + ".err");
}

HubProcess start_hub(const Folder& folder, const std::string& book, Security security, int port) {
  const std::string ready = folder / "ready";
  std::filesystem::remove(ready);
  std::vector<std::string> arguments = {
      "--book", book, "serve", "--listen", "127.0.0.1", "--port", std::to_string(port), "--ready-file", ready};
  if (security == Security::plain) arguments.push_back("--plain");
  HubProcess hub{Process(arguments, folder / "hub-log"), ""};
  for (int i = 0; i < 2000 && !std::filesystem::exists(ready); ++i) {
    INFO(hub.process.errors());
    REQUIRE(hub.process.running());
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  hub.url = read_text(ready);
  REQUIRE(!hub.url.empty());
  hub.url.pop_back();
  return hub;
}

int port_of(const std::string& url) {
  return std::stoi(url.substr(url.rfind(':') + 1));
}

void found_book(const std::string& path, const std::string& name) {
  Book::Founding founding{.keeper = name,
                          .zone = {{{0, 60}}},
                          .root = KeyPair::generate(),
                          .device = KeyPair::generate(),
                          .salt = random_array<16>(),
                          .keeper_code = Code::generate(CodeKind::helper, fill_random)};
  Book::create(path, founding, clock_now());
}

ClockReading clock_now() {
  return {milliseconds(CLOCK_REALTIME), 7, milliseconds(CLOCK_MONOTONIC)};
}

std::string join_code(const std::string& hub_book, const std::string& role, const std::string& person) {
  std::vector<std::string> arguments = {"--book", hub_book, "--json", "invite", "--role", role};
  if (!person.empty()) arguments.insert(arguments.end(), {"--name", person});
  const Run invited = run_rackside(arguments);
  INFO(invited.out << invited.err);
  REQUIRE(invited.status == 0);
  return member(invited.out, "code");
}

Run join_hub(const HubProcess& hub, const std::string& hub_book, const std::string& book, const std::string& role,
             const std::string& person) {
  const std::string code = join_code(hub_book, role, person);
  return run_rackside({"--book", book, "join", hub.url, code, "--name", "made-up laptop"});
}

std::vector<EventRef> record_feedings(const std::string& path, int count) {
  Book book = Book::open(path);
  const std::string animal = Code::generate(CodeKind::animal, fill_random).str();
  std::vector<Draft> drafts(static_cast<std::size_t>(count), Draft{.kind = Kind::fed, .of = {animal}});
  return book.record(std::move(drafts), clock_now());
}

Digest digest_of(const std::string& book) {
  return Book::open(book).digest();
}

}  // namespace rackside::tests
