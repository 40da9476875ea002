#include "cli/app.h"
#include "cli/care/sheet.h"
#include "cli/season/season.h"
#include "cli/verbs.h"

namespace rackside::cli {
namespace {

void add_all_verbs(CLI::App& app, Session& session) {
  add_register_verbs(app, session);
  add_exchange_verbs(app, session);
  add_label_verbs(app, session);
  add_read_verb(app, session);
  add_scan_verb(app, session);
  add_entry_verbs(app, session);
  add_reading_verbs(app, session, write_today_sheet);
  add_sync_verbs(app, session);
  add_question_verbs(app, session);
  add_gene_verbs(app, session);
  add_season_verbs(app, session);
  add_young_verb(app, session);
  add_feeding_verbs(app, session);
  add_limit_verbs(app, session);
  add_freezer_verbs(app, session);
  add_ticked_verb(app, session);
  add_check_verb(app, session);
  add_backup_verbs(app, session);
  add_demo_verbs(app, session);
}

}  // namespace

int run(int argc, const char* const* argv) {
  return run_verbs(argc, argv, add_all_verbs);
}

}  // namespace rackside::cli
