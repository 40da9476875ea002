#include "labels/design/label.h"

#include "labels/symbol/symbol.h"

namespace rackside::labels {

Label label_for(LabelKind kind, const core::Code& code, std::string_view title, std::string_view host) {
  Label label;
  label.kind = kind;
  label.payload = host.empty() ? code.str() : link_text(host, code.text());
  label.code = code.spaced();
  label.title = title;
  return label;
}

}  // namespace rackside::labels
