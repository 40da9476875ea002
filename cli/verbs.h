#pragma once

namespace CLI {
class App;
}

namespace rackside::cli {

class Session;
struct TodayOptions;

// Each adds its verbs to the program. To add a verb: a file verbs_NAME.cpp, a line here, a line in app_all.cpp (and in
// app.cpp where it needs neither pictures, pages nor the network).
void add_register_verbs(CLI::App& app, Session& session);  ///< init, rack, animal, helper, put, swap, says
void add_exchange_verbs(CLI::App& app, Session& session);  ///< import, export, register (after add_register_verbs)
void add_entry_verbs(CLI::App& app, Session& session);     ///< log, void, restore, rest-ate
void add_scan_verb(CLI::App& app, Session& session);       ///< scan
/// show, history, list, today. `write_sheet`: what `today --sheet` does; null in the program that draws nothing.
void add_reading_verbs(CLI::App& app, Session& session, void (*write_sheet)(Session&, const TodayOptions&) = nullptr);
void add_question_verbs(CLI::App& app, Session& session);  ///< questions, settle
void add_backup_verbs(CLI::App& app, Session& session);    ///< backup (and restore FILE)
void add_gene_verbs(CLI::App& app, Session& session);  ///< genes, odds, prove, plan, doubt, kin, inbreeding, catalogue
void add_season_verbs(CLI::App& app, Session& session);  ///< clutches, hatchlings, sex, rotation, ask, calendar, season
void add_feeding_verbs(CLI::App& app, Session& session);  ///< feeding, prey
void add_limit_verbs(CLI::App& app, Session& session);    ///< limits, fast
void add_ticked_verb(CLI::App& app, Session& session);    ///< ticked
void add_freezer_verbs(CLI::App& app, Session& session);  ///< thaw, freezer, leftovers
void add_check_verb(CLI::App& app, Session& session);     ///< check
void add_label_verbs(CLI::App& app, Session& session);    ///< label
void add_read_verb(CLI::App& app, Session& session);      ///< read
void add_sync_verbs(CLI::App& app, Session& session);     ///< serve, join, sync, invite, devices
void add_demo_verbs(CLI::App& app, Session& session);     ///< demo: the made-up racks of cli/quickstart

}  // namespace rackside::cli
