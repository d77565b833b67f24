#include <gtest/gtest.h>

#include <cstring>

#include "sim/engine/byte_stream.hpp"
#include "tests/sim/engine_fixture.hpp"

namespace firstglow::sim::testing {
namespace {

RunJob every_element() {
  RunJob job;
  netlists::Deck& deck = job.deck;
  deck.node_count = 5;
  deck.add(0, netlists::ResistorElement{1, 2, 3.5});
  deck.add(-1, netlists::CapacitorElement{1, 2, 1e-6, -4.0});
  deck.add(2, netlists::InductorElement{3, 0, 10.0, 0.25});
  deck.add(3, netlists::SineSourceElement{1, 0, 170.0, 60.0, 12.0});
  deck.add(4, netlists::DcSourceElement{4, 0, 1.0});
  deck.add(5, netlists::DiodeElement{1, 2, 1e-9, 1.8, 0.1, 1e-11});
  deck.add(6, netlists::VoltageFollowerElement{3, 0, 1, 2.0});
  deck.add(7, netlists::CurrentMirrorElement{2, 4, -2.0});
  deck.add(8, netlists::CurrentSinkElement{2, 0, 0.1, 5.0});
  deck.add(9, netlists::ThermalResistorElement{2, 0, 10.0, 1.2, 2700.0, 60.0, 0.002, 310.0});
  deck.add(10, netlists::SaturatingCoilElement{2, 0, 2.0, 0.01, 0.5, 0.02, -0.1});
  deck.add(11, netlists::SinhCoilElement{2, 0, 0.05, 1.5, 0.25});
  deck.add(12, netlists::NtcElement{2, 0, 10.0, 3000.0, 0.05, 1.5, 298.15});
  job.spec.stop_s = 0.1;
  job.spec.max_step_s = 1e-4;
  job.spec.save_from_s = 0.05;
  job.spec.nodes = {1, 0, 2};
  job.spec.currents = {5, 9};
  job.spec.accuracy = Accuracy::fine;
  job.spec.deadline_s = 2.5;
  return job;
}

TEST(EngineProtocol, JobComesBackAsItWasSent) {
  const RunJob job = every_element();
  const Bytes sent = encode(job);
  const RunJob back = decode_job(sent);
  EXPECT_EQ(encode(back), sent);
  ASSERT_EQ(back.deck.elements.size(), 13U);
  EXPECT_EQ(std::get<netlists::SaturatingCoilElement>(back.deck.elements[10].data).start_vs, -0.1);
  EXPECT_EQ(std::get<netlists::SinhCoilElement>(back.deck.elements[11].data).start_vs, 0.25);
  EXPECT_EQ(std::get<netlists::NtcElement>(back.deck.elements[12].data).start_k, 298.15);
  const auto& lamp = std::get<netlists::ThermalResistorElement>(back.deck.elements[9].data);
  EXPECT_EQ(lamp.heat_j_per_k, 0.002);
  EXPECT_EQ(lamp.start_k, 310.0);
  EXPECT_EQ(back.deck.elements[9].part, 9);
  EXPECT_EQ(std::get<netlists::CurrentMirrorElement>(back.deck.elements[7].data).sense, 4);
  EXPECT_EQ(back.spec.nodes, job.spec.nodes);
  EXPECT_EQ(back.spec.accuracy, Accuracy::fine);
  EXPECT_EQ(back.spec.deadline_s, 2.5);
}

TEST(EngineProtocol, AnswersComeBackAsTheyWereSent) {
  const Waveforms waves{{0.0, 1.0}, {{2.0, 3.0}}, {{4.0, 5.0}, {6.0, 7.0}}, {8.0}};
  EXPECT_TRUE(same_bits(decode_waveforms(encode(waves)), waves));
  const RunFailure failure{"no", 0.5, {"a", ""}, 3, -1};
  const RunFailure back = decode_failure(encode(failure));
  EXPECT_EQ(back.message, "no");
  EXPECT_EQ(back.solver_lines, failure.solver_lines);
  EXPECT_EQ(back.node, 3);
  EXPECT_EQ(back.element, -1);
}

// Every shorter message is refused, and one byte too many.
TEST(EngineProtocol, CutAndOverlongMessagesAreRefused) {
  const Bytes job = encode(every_element());
  for (std::size_t length = 0; length < job.size(); ++length) {
    EXPECT_THROW((void)decode_job(std::span(job).first(length)), ProtocolError) << length;
  }
  Bytes longer = job;
  longer.push_back(std::byte{0});
  EXPECT_THROW((void)decode_job(longer), ProtocolError);
  const Bytes waves = encode(Waveforms{{0.0, 1.0}, {{2.0, 3.0}}, {}, {8.0}});
  for (std::size_t length = 0; length < waves.size(); ++length) {
    EXPECT_THROW((void)decode_waveforms(std::span(waves).first(length)), ProtocolError);
  }
}

// Any byte changed: either refused or decoded to something, but no crash and no huge allocation.
TEST(EngineProtocol, ChangedBytesNeverDoHarm) {
  const Bytes good = encode(every_element());
  std::size_t refused = 0;
  for (std::size_t at = 0; at < good.size(); ++at) {
    for (const std::byte value : {std::byte{0xff}, std::byte{0x80}, std::byte{0x7f}}) {
      Bytes bad = good;
      bad[at] = value;
      try {
        (void)decode_job(bad);
      } catch (const ProtocolError&) {
        ++refused;
      }
    }
  }
  EXPECT_GT(refused, 50U);
}

TEST(EngineProtocol, ColumnsOfUnequalLengthAreRefused) {
  const Bytes uneven = encode(Waveforms{{0.0, 1.0}, {{2.0}}, {}, {}});
  EXPECT_THROW((void)decode_waveforms(uneven), ProtocolError);
}

TEST(EngineProtocol, HeadersOutOfRangeAreRefused) {
  const Bytes good = frame(FrameKind::job, {});
  const auto parse = [](const Bytes& bytes) {
    return parse_header(std::span(bytes).first<sizeof(FrameHeader)>());
  };
  EXPECT_EQ(parse(good).length, 0U);
  for (const std::size_t at :
       {std::size_t{0}, offsetof(FrameHeader, version), offsetof(FrameHeader, kind),
        offsetof(FrameHeader, reserved), offsetof(FrameHeader, length) + 6}) {
    Bytes bad = good;
    bad[at] = std::byte{0x77};
    EXPECT_THROW((void)parse(bad), ProtocolError) << at;
  }
}

}  // namespace
}  // namespace firstglow::sim::testing
