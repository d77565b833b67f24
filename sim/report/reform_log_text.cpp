#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/report/cautions.hpp"
#include "sim/report/findings_text.hpp"
#include "sim/report/numbers.hpp"
#include "sim/report/reform_report.hpp"

namespace firstglow::sim {
namespace {

constexpr int kPlotColumns = 34;
constexpr std::size_t kMostRows = 30;

std::string milliamps(double amps) { return significant(1e3 * amps); }

/// Where a current lies on the scale of the plot, 0 to kPlotColumns - 1.
class Scale {
 public:
  explicit Scale(const ReformLogResult& result) : low_(result.facts.limit_a) {
    high_ = low_;
    for (const double amps : result.verdict.judged.amps) {
      low_ = std::min(low_, amps);
      high_ = std::max(high_, amps);
    }
    low_ *= 0.9;
    high_ *= 1.1;
  }
  [[nodiscard]] std::size_t column(double amps) const {
    const double share = std::log(std::clamp(amps, low_, high_) / low_) / std::log(high_ / low_);
    return static_cast<std::size_t>(std::lround(share * (kPlotColumns - 1)));
  }

 private:
  double low_ = 0.0, high_ = 0.0;
};

std::string plot_line(const Scale& scale, double limit_a, double curve_a, double read_a) {
  std::string line(kPlotColumns, ' ');
  line[scale.column(limit_a)] = '|';
  line[scale.column(curve_a)] = '.';
  line[scale.column(read_a)] = '*';
  const std::size_t last = line.find_last_not_of(' ');
  return line.substr(0, last + 1);
}

void add_plot(Page& page, const ReformLogResult& result) {
  const FormingSeries& series = result.verdict.judged;
  if (!result.verdict.fit) {
    return;
  }
  page.heading("READINGS AND BEST CURVE");
  page.text("* read, . curve, | limit; logarithmic, low current at the left.");
  if (result.verdict.left_out > 0) {
    page.text(fmt::format("{} readings of earlier steps are left out.", result.verdict.left_out));
  }
  const Scale scale(result);
  Table table({{"min", Align::right},
               {"read\nmA", Align::right},
               {"curve\nmA", Align::right},
               {"", Align::left}});
  // Of a long log evenly chosen readings, the last one always.
  const std::size_t step = (series.amps.size() + kMostRows - 1) / kMostRows;
  for (std::size_t k = 0; k < series.amps.size(); ++k) {
    if ((series.amps.size() - 1 - k) % step != 0) {
      continue;
    }
    const double curve_a = result.verdict.fit->best.at(series.time_s[k]);
    table.row({significant(series.time_s[k] / 60.0), milliamps(series.amps[k]), milliamps(curve_a),
               "[" + plot_line(scale, result.facts.limit_a, curve_a, series.amps[k])});
  }
  page.blank().table(table, 2);
}

const char* advice(const FormingVerdict& verdict) {
  switch (verdict.answer) {
    case FormingAnswer::formed:
      return "Keep it there for half an hour more, then discharge it, and read it again tomorrow.";
    case FormingAnswer::forming:
      return "Go on at these volts. Watch it; read on; ask again.";
    case FormingAnswer::stuck:
      return "It will not get there at these volts. Lower steps for a day, or replace it.";
    case FormingAnswer::stop:
      return verdict.rise ? "Volts off now. Stand away, let it cool, discharge it. Replace it."
                          : "Volts off now. Stand away, let it cool, discharge it. Then lower "
                            "volts, with its size in the record (key can) or its temperature in "
                            "the log: a larger can may bear this.";
    case FormingAnswer::too_few:
      break;
  }
  return "Treat it as not formed. Read on.";
}

std::string answer_words(FormingAnswer answer) {
  std::string words = to_words(answer);
  std::transform(words.begin(), words.end(), words.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return words;
}

void add_answer(Page& page, const ReformLogResult& result) {
  const FormingVerdict& verdict = result.verdict;
  page.heading(fmt::format("{}: {}", result.part, answer_words(verdict.answer)));
  if (verdict.confidence > 0.0) {
    page.text(fmt::format("Confidence {:.0f} %, as far as the model holds.",
                          100.0 * std::min(verdict.confidence, 0.99)));
  }
  for (const std::string& why : verdict.why) {
    page.item("-", why + ".");
  }
  if (verdict.to_go_s) {
    page.item("-",
              fmt::format("Time to go to {} mA: about {} (between {} and {} in 8 of 10 cases).",
                          milliamps(result.facts.limit_a), waiting_time(verdict.to_go_s->middle),
                          waiting_time(verdict.to_go_s->low), waiting_time(verdict.to_go_s->high)));
  }
  if (verdict.stays_a) {
    page.item("-", fmt::format("Leakage that stays: {} to {} mA.", milliamps(verdict.stays_a->low),
                               milliamps(verdict.stays_a->high)));
  }
  page.item("-", fmt::format("Limit: {} mA, {} {}", milliamps(result.facts.limit_a),
                             result.rule_words, result.rule_source));
  page.item("!", advice(verdict));
}

}  // namespace

core::Verdict reform_log_verdict(const ReformLogResult& result) {
  return core::worst_verdict(result.findings);
}

std::string reform_log_text(const core::Rig& rig, const ReformLogResult& result,
                            const TextStyle& style) {
  Page page(style);
  begin_report(page, rig, Topic::reform);
  page.text(fmt::format("Log: {}", result.log_file), 0, 5);
  add_answer(page, result);
  add_plot(page, result);
  add_problems(page, result.findings);
  end_report(page, result.assumptions);
  return page.take();
}

}  // namespace firstglow::sim
