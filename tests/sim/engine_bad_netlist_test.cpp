#include <gtest/gtest.h>

#include "tests/sim/raw_lines.hpp"

namespace firstglow::sim::testing {
namespace {

struct BadNetlist {
  const char* name;
  std::vector<std::string> lines;  ///< put before `.tran` of a good deck
};

std::ostream& operator<<(std::ostream& out, const BadNetlist& bad) { return out << bad.name; }

/// Kinds of faults ngspice 39 answers with return code 0, a partial result, the former
/// circuit, a controlled exit or a crash.
std::vector<BadNetlist> bad_netlists() {
  return {
      {"MissingModel", {"d1 n1 0 dx"}},
      {"TooFewNodes", {"r9 n1"}},
      {"UnknownLetter", {"n9 n1 0 foo"}},
      {"MissingInclude", {".include /nonexistent/foo.lib"}},
      {"MissingLibrary", {".lib /nonexistent/foo.lib sec"}},
      {"UnbalancedExpression", {"b1 n2 0 i=(v(n1)", "r2 n2 0 1"}},
      {"UnknownFunction", {"b1 n2 0 v=foo(v(n1))", "r2 n2 0 1"}},
      {"UnknownNodeInExpression", {"b1 n2 0 v=v(zzz)", "r2 n2 0 1"}},
      {"UnknownSourceInExpression", {"b1 n2 0 v=i(vzz)", "r2 n2 0 1"}},
      {"EmptyExpression", {"b1 n2 0", "r2 n2 0 1"}},
      {"GarbageExpression", {"b1 n2 0 zz=3", "r2 n2 0 1"}},
      {"SourcesInParallel", {"v2 n1 0 dc 5"}},
      {"UndefinedParameter", {"r2 n1 0 {nosuch}"}},
      {"BadBraces", {"r2 n1 0 {1+}"}},
      {"UnclosedBrace", {"r2 n1 0 {1+2"}},
      {"TextAsValue", {"r2 n1 0 foo"}},
      {"NanAsValue", {"r2 n1 0 nan"}},
      {"InfinityAsValue", {"r2 n1 0 inf"}},
      {"CouplingWithoutCoil", {"l1 n1 0 1", "k1 l1 l9 0.9"}},
      {"DuplicateName", {"r1 n1 0 2k"}},
      {"LogOfNegative", {"b1 n2 0 v=ln(-1-v(n1)*v(n1))", "r2 n2 0 1"}},
      {"RootOfNegative", {"b1 n2 0 v=sqrt(v(n1))", "r2 n2 0 1"}},
      {"UnknownSubcircuit", {"x1 n1 0 nosuch"}},
      {"RecursiveSubcircuit", {".subckt s a", "x1 a s", ".ends", "x1 n1 s"}},
      {"UnclosedSubcircuit", {".subckt s a", "r7 a 0 1"}},
      {"RecursiveFunction", {".func f(x) {f(x)+1}", "r2 n1 0 {f(1)}"}},
      {"RecursiveParameter", {".param a={b}", ".param b={a}", "r2 n1 0 {a}"}},
      {"IfWithoutEnd", {".if (1)", "r2 n1 0 1"}},
      {"EndifAlone", {".endif"}},
      {"UnknownOptionValue", {".options reltol=foo"}},
      {"StartOfUnknownNode", {".ic v(zz)=3"}},
      {"ModelParameterUnknown", {"d1 n1 0 dm", ".model dm d(foo=3)"}},
      {"ModelOfOtherType", {"d1 n1 0 dm", ".model dm npn"}},
      {"CodeModelUnknown", {"a1 n1 n2 am", ".model am nosuch"}},
      {"DisorderedTable", {"v2 n2 0 pwl(0 0 2 1 1 2)", "r2 n2 0 1"}},
      {"StepTooSmall", {"b1 0 n2 i=v(n2)<0.5 ? 1e3 : -1e3", "c2 n2 0 1e-15 ic=0", "r2 n2 0 1e6"}},
  };
}

class EngineBadNetlist : public ::testing::TestWithParam<BadNetlist> {};

// Each gives an error, never data; and the good circuit after it gets its right answer, from the
// same process when the solver survived, from a new one when it did not.
TEST_P(EngineBadNetlist, GivesAnErrorAndTheNextRunIsRight) {
  WorkerProcess worker(FIRSTGLOW_RAW_WORKER);
  ASSERT_TRUE(ask_raw(worker, good_lines()).good());
  std::vector<std::string> lines = good_lines();
  lines.insert(lines.begin() + 3, GetParam().lines.begin(), GetParam().lines.end());
  const RawAnswer answer = ask_raw(worker, lines);
  EXPECT_FALSE(answer.waveforms.has_value()) << answer.text;
  EXPECT_FALSE(answer.text.empty());
  EXPECT_TRUE(ask_raw(worker, good_lines()).good());
}

INSTANTIATE_TEST_SUITE_P(All, EngineBadNetlist, ::testing::ValuesIn(bad_netlists()),
                         [](const auto& one) { return std::string(one.param.name); });

// Lines without an end, without a circuit or without an analysis.
TEST(EngineBadDeck, WholeDecksWithoutSenseGiveErrors) {
  WorkerProcess worker(FIRSTGLOW_RAW_WORKER);
  const std::vector<std::vector<std::string>> decks = {
      {},
      {"title"},
      {"title", ".end"},
      {"", "", ""},
      {"title", "r1 n1 0 1", ".end"},
      {"title", "v1 n1 0 1", ".tran 0 0.01 uic", ".end"},
      {"title", "v1 n1 0 1", ".tran foo bar", ".end"},
      {"title", "v1 n1 0 sin(0 1 60)", "r1 n1 0 1k", ".tran 1e-4 0.005 0 1e-4 uic", ".end"}};
  for (const auto& lines : decks) {
    const RawAnswer answer = ask_raw(worker, lines);
    EXPECT_FALSE(answer.waveforms.has_value());
    EXPECT_FALSE(answer.text.empty());
    EXPECT_TRUE(ask_raw(worker, good_lines()).good());
  }
}

}  // namespace
}  // namespace firstglow::sim::testing
