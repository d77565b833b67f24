#pragma once
/// @file
/// How do pool and worker talk? Frames over a socket pair; both sides use this one file.
///
/// Frame = magic, version, kind, payload length, payload. Numbers lie in memory order, because
/// both ends are always the same build on the same machine; the version catches a worker of
/// another build. Every count is checked against the bytes that are really there before
/// anything is allocated, every enumerator and index against its range.

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "core/error.hpp"
#include "sim/engine/run_outcome.hpp"

namespace firstglow::sim {

/// Bytes that are not what the protocol allows.
class ProtocolError : public core::Error {
 public:
  using Error::Error;
};

inline constexpr int kWorkerSocketFd = 3;  ///< the worker finds its end of the socket pair here
inline constexpr std::uint32_t kProtocolVersion = 2;

enum class FrameKind : std::uint32_t { hello = 1, job = 2, waveforms = 3, failure = 4 };

using Bytes = std::vector<std::byte>;

struct FrameHeader {
  std::uint32_t magic;
  std::uint32_t version;
  std::uint32_t kind;
  std::uint32_t reserved;
  std::uint64_t length;
};
inline constexpr std::uint64_t kLongestPayload = std::uint64_t{3} << 30;

/// A whole frame ready to be sent.
[[nodiscard]] Bytes frame(FrameKind kind, const Bytes& payload);
/// @throws ProtocolError when magic, version, kind or length is wrong.
[[nodiscard]] FrameHeader parse_header(std::span<const std::byte, sizeof(FrameHeader)> bytes);

[[nodiscard]] Bytes encode(const RunJob& job);
[[nodiscard]] Bytes encode(const Waveforms& waveforms);
[[nodiscard]] Bytes encode(const RunFailure& failure);
/// @throws ProtocolError when the bytes are not exactly one job; the deck is not yet checked.
[[nodiscard]] RunJob decode_job(std::span<const std::byte> payload);
/// @throws ProtocolError
[[nodiscard]] Waveforms decode_waveforms(std::span<const std::byte> payload);
/// @throws ProtocolError
[[nodiscard]] RunFailure decode_failure(std::span<const std::byte> payload);

}  // namespace firstglow::sim
