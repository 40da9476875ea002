#pragma once

#include "sync/hub/services.h"

namespace rackside::cli {

/// Reads a phone's photo in a child process of its own, which ends with it: a picture can at most cost its own outcome.
sync::hub::PictureReader page_picture_reader();

}  // namespace rackside::cli
