#pragma once

#include "sync/hub/services.h"

namespace rackside::cli {

/// Labels for the page at the desk: drawn, proven and registered as `rackside label` does.
sync::hub::LabelPrinter page_printer();

}  // namespace rackside::cli
