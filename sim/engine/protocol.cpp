#include "sim/engine/protocol.hpp"

#include <array>
#include <utility>

#include "sim/engine/byte_stream.hpp"

namespace firstglow::sim {
namespace {

constexpr std::uint32_t kMagic = 0x57474f46;  // "FOGW"

using netlists::ElementData;

/// Visits the fields of an element in one fixed order, for writing and for reading.
struct Fields {
  template <class F>
  static void of(netlists::ResistorElement& e, F&& f) {
    f(e.a), f(e.b), f(e.ohm);
  }
  template <class F>
  static void of(netlists::CapacitorElement& e, F&& f) {
    f(e.a), f(e.b), f(e.farad), f(e.start_v);
  }
  template <class F>
  static void of(netlists::InductorElement& e, F&& f) {
    f(e.a), f(e.b), f(e.henry), f(e.start_a);
  }
  template <class F>
  static void of(netlists::SineSourceElement& e, F&& f) {
    f(e.a), f(e.b), f(e.peak_v), f(e.hz), f(e.phase_deg), f(e.ramp_v_per_s);
  }
  template <class F>
  static void of(netlists::DcSourceElement& e, F&& f) {
    f(e.a), f(e.b), f(e.volts);
  }
  template <class F>
  static void of(netlists::DiodeElement& e, F&& f) {
    f(e.anode), f(e.cathode), f(e.saturation_a), f(e.emission), f(e.series_ohm), f(e.junction_f);
  }
  template <class F>
  static void of(netlists::VoltageFollowerElement& e, F&& f) {
    f(e.a), f(e.b), f(e.control), f(e.gain);
  }
  template <class F>
  static void of(netlists::CurrentMirrorElement& e, F&& f) {
    f(e.into), f(e.sense), f(e.gain);
  }
  template <class F>
  static void of(netlists::CurrentSinkElement& e, F&& f) {
    f(e.a), f(e.b), f(e.amps), f(e.knee_v);
  }
  template <class F>
  static void of(netlists::ThermalResistorElement& e, F&& f) {
    f(e.a), f(e.b), f(e.cold_ohm), f(e.exponent), f(e.hot_k), f(e.hot_w), f(e.heat_j_per_k);
    f(e.start_k);
  }
  template <class F>
  static void of(netlists::VacuumDiodeElement& e, F&& f) {
    f(e.anode), f(e.cathode), f(e.perveance);
  }
  template <class F>
  static void of(netlists::SaturatingCoilElement& e, F&& f) {
    f(e.a), f(e.b), f(e.unsaturated_h), f(e.air_h), f(e.knee_vs), f(e.width_vs), f(e.start_vs);
  }
  template <class F>
  static void of(netlists::SinhCoilElement& e, F&& f) {
    f(e.a), f(e.b), f(e.scale_a), f(e.scale_vs), f(e.start_vs);
  }
  template <class F>
  static void of(netlists::NtcElement& e, F&& f) {
    f(e.a), f(e.b), f(e.cold_ohm), f(e.beta_k), f(e.w_per_k), f(e.heat_j_per_k), f(e.start_k);
  }
  template <class F>
  static void of(netlists::SpaceCurrentElement& e, F&& f) {
    f(e.a), f(e.b), f(e.grid), f(e.control), f(e.plate), f(e.split);
    f(e.law.perveance), f(e.law.mu), f(e.law.offset_v), f(e.law.tail_v), f(e.law.plate_share);
    f(e.law.knee_v);
  }
  template <class F>
  static void of(netlists::WindingElement& e, F&& f) {
    f(e.a), f(e.b), f(e.core), f(e.ratio), f(e.ohm);
  }
  template <class F>
  static void of(netlists::GridDriveElement& e, F&& f) {
    f(e.a), f(e.b), f(e.amps), f(e.limit_v);
  }
};

/// The element kind with this index in ElementData, all fields zero.
template <std::size_t... I>
ElementData element_of_kind(std::size_t kind, std::index_sequence<I...> /*kinds*/) {
  ElementData data;
  const bool known =
      ((kind == I ? (data = std::variant_alternative_t<I, ElementData>{}, true) : false) || ...);
  if (!known) {
    throw ProtocolError("engine message has an unknown element kind");
  }
  return data;
}

void write_deck(ByteWriter& out, const netlists::Deck& deck) {
  out.number<std::int32_t>(deck.node_count);
  out.number<std::uint64_t>(deck.elements.size());
  for (const netlists::Element& element : deck.elements) {
    out.number<std::int32_t>(element.part);
    out.number<std::uint32_t>(static_cast<std::uint32_t>(element.data.index()));
    ElementData data = element.data;
    std::visit([&out](auto& e) { Fields::of(e, [&out](auto& field) { out.number(field); }); },
               data);
  }
}

netlists::Deck read_deck(ByteReader& in) {
  netlists::Deck deck;
  deck.node_count = in.number<std::int32_t>();
  const std::size_t count = in.count(sizeof(std::int32_t) + sizeof(std::uint32_t));
  deck.elements.reserve(count);
  for (std::size_t i = 0; i < count; ++i) {
    netlists::Element element;
    element.part = in.number<std::int32_t>();
    constexpr auto kKinds = std::make_index_sequence<std::variant_size_v<ElementData>>{};
    element.data = element_of_kind(in.number<std::uint32_t>(), kKinds);
    std::visit(
        [&in](auto& e) {
          Fields::of(e, [&in](auto& field) {
            field = in.number<std::remove_reference_t<decltype(field)>>();
          });
        },
        element.data);
    deck.elements.push_back(element);
  }
  return deck;
}

void write_columns(ByteWriter& out, const std::vector<std::vector<double>>& columns) {
  out.number<std::uint64_t>(columns.size());
  for (const std::vector<double>& column : columns) {
    out.list(column);
  }
}

std::vector<std::vector<double>> read_columns(ByteReader& in, std::size_t length) {
  std::vector<std::vector<double>> columns(in.count(sizeof(std::uint64_t)));
  for (std::vector<double>& column : columns) {
    column = in.list<double>();
    if (column.size() != length) {
      throw ProtocolError("engine message has columns of different length");
    }
  }
  return columns;
}

}  // namespace

Bytes frame(FrameKind kind, const Bytes& payload) {
  const FrameHeader header{kMagic, kProtocolVersion, static_cast<std::uint32_t>(kind), 0,
                           payload.size()};
  Bytes bytes(sizeof header + payload.size());
  std::memcpy(bytes.data(), &header, sizeof header);
  if (!payload.empty()) {
    std::memcpy(bytes.data() + sizeof header, payload.data(), payload.size());
  }
  return bytes;
}

FrameHeader parse_header(std::span<const std::byte, sizeof(FrameHeader)> bytes) {
  FrameHeader header{};
  std::memcpy(&header, bytes.data(), sizeof header);
  if (header.magic != kMagic) {
    throw ProtocolError("engine message does not start as one");
  }
  if (header.version != kProtocolVersion) {
    throw ProtocolError("the worker program belongs to another version of firstglow");
  }
  if (header.kind < static_cast<std::uint32_t>(FrameKind::hello) ||
      header.kind > static_cast<std::uint32_t>(FrameKind::failure) || header.reserved != 0 ||
      header.length > kLongestPayload) {
    throw ProtocolError("engine message has a header out of range");
  }
  return header;
}

Bytes encode(const RunJob& job) {
  ByteWriter out;
  write_deck(out, job.deck);
  out.number(job.spec.stop_s);
  out.number(job.spec.max_step_s);
  out.number(job.spec.save_from_s);
  out.list(job.spec.nodes);
  out.list(job.spec.currents);
  out.number<std::uint32_t>(static_cast<std::uint32_t>(job.spec.accuracy));
  out.number(job.spec.deadline_s);
  return out.take();
}

RunJob decode_job(std::span<const std::byte> payload) {
  ByteReader in(payload);
  RunJob job;
  job.deck = read_deck(in);
  job.spec.stop_s = in.number<double>();
  job.spec.max_step_s = in.number<double>();
  job.spec.save_from_s = in.number<double>();
  job.spec.nodes = in.list<netlists::DeckNode>();
  job.spec.currents = in.list<netlists::ElementIndex>();
  const auto accuracy = in.number<std::uint32_t>();
  if (accuracy > static_cast<std::uint32_t>(Accuracy::fine)) {
    throw ProtocolError("engine message has an unknown accuracy");
  }
  job.spec.accuracy = static_cast<Accuracy>(accuracy);
  job.spec.deadline_s = in.number<double>();
  in.require_end();
  return job;
}

Bytes encode(const Waveforms& waveforms) {
  ByteWriter out;
  out.list(waveforms.time_s);
  write_columns(out, waveforms.node_v);
  write_columns(out, waveforms.current_a);
  out.list(waveforms.final_state);
  return out.take();
}

Waveforms decode_waveforms(std::span<const std::byte> payload) {
  ByteReader in(payload);
  Waveforms waveforms;
  waveforms.time_s = in.list<double>();
  waveforms.node_v = read_columns(in, waveforms.time_s.size());
  waveforms.current_a = read_columns(in, waveforms.time_s.size());
  waveforms.final_state = in.list<double>();
  in.require_end();
  return waveforms;
}

Bytes encode(const RunFailure& failure) {
  ByteWriter out;
  out.text(failure.message);
  out.number(failure.reached_s);
  out.number<std::uint64_t>(failure.solver_lines.size());
  for (const std::string& line : failure.solver_lines) {
    out.text(line);
  }
  out.number<std::int32_t>(failure.node);
  out.number<std::int32_t>(failure.element);
  return out.take();
}

RunFailure decode_failure(std::span<const std::byte> payload) {
  ByteReader in(payload);
  RunFailure failure;
  failure.message = in.text();
  failure.reached_s = in.number<double>();
  failure.solver_lines.resize(in.count(sizeof(std::uint64_t)));
  for (std::string& line : failure.solver_lines) {
    line = in.text();
  }
  failure.node = in.number<std::int32_t>();
  failure.element = in.number<std::int32_t>();
  in.require_end();
  return failure;
}

}  // namespace firstglow::sim
