#include <fmt/format.h>

#include "core/electrolytic.hpp"
#include "core/part_reader.hpp"
#include "core/written_text.hpp"

namespace firstglow::core {

ElectrolyticHistory read_electrolytic_history(PartContext& context) {
  FieldReader& fields = context.fields;
  ElectrolyticHistory history;
  history.years_old = fields.count("years_old");
  history.years_idle = fields.count("years_idle");
  if (history.years_old && history.years_idle && *history.years_idle > *history.years_old) {
    fields.fault("years_idle", fmt::format("{} years idle is more than the {} years since it was "
                                           "made; expected no more; correct one of them",
                                           *history.years_idle, *history.years_old));
  }
  if (const std::string can = fields.text("can"); !can.empty()) {
    history.can = read_body_size(can);
    if (!history.can || history.can->mm.size() != 2) {
      fields.fault("can", fmt::format("{} is no size of a can; expected diameter x length such as "
                                      "'35x75 mm'; correct it",
                                      in_quotes(can)));
    }
  }
  if (const std::string life = fields.text("life"); !life.empty()) {
    history.life = read_rated_life(life);
    if (!history.life) {
      fields.fault("life", fmt::format("{} is no life; expected hours (1 to 1000000) and "
                                       "temperature (40 to 200 C) such as '2000 h at 85 C'; "
                                       "correct it",
                                       in_quotes(life)));
    }
  }
  return history;
}

}  // namespace firstglow::core
