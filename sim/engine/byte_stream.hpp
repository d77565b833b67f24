#pragma once
/// @file
/// Numbers, text and lists to bytes and back, with every length checked.

#include <cstddef>
#include <cstdint>
#include <cstring>
#include <span>
#include <string>
#include <type_traits>
#include <vector>

#include "sim/engine/protocol.hpp"

namespace firstglow::sim {

class ByteWriter {
 public:
  template <class Number>
  void number(Number value) {
    static_assert(std::is_arithmetic_v<Number>);
    append(&value, sizeof value);
  }
  void text(const std::string& value) {
    number<std::uint64_t>(value.size());
    append(value.data(), value.size());
  }
  template <class Number>
  void list(const std::vector<Number>& values) {
    static_assert(std::is_arithmetic_v<Number>);
    number<std::uint64_t>(values.size());
    append(values.data(), values.size() * sizeof(Number));
  }
  [[nodiscard]] Bytes take() { return std::move(bytes_); }

 private:
  void append(const void* data, std::size_t size) {
    const auto* first = static_cast<const std::byte*>(data);
    bytes_.insert(bytes_.end(), first, first + size);
  }
  Bytes bytes_;
};

/// Every read throws ProtocolError when the bytes run out.
class ByteReader {
 public:
  explicit ByteReader(std::span<const std::byte> bytes) : rest_(bytes) {}

  template <class Number>
  [[nodiscard]] Number number() {
    static_assert(std::is_arithmetic_v<Number>);
    Number value{};
    copy(&value, sizeof value);
    return value;
  }
  [[nodiscard]] std::string text() {
    std::string value(count(1), '\0');
    copy(value.data(), value.size());
    return value;
  }
  template <class Number>
  [[nodiscard]] std::vector<Number> list() {
    std::vector<Number> values(count(sizeof(Number)));
    copy(values.data(), values.size() * sizeof(Number));
    return values;
  }
  /// A count of things of at least `bytes_each`; refused when they cannot all be there.
  [[nodiscard]] std::size_t count(std::size_t bytes_each) {
    const auto value = number<std::uint64_t>();
    if (value > rest_.size() / bytes_each) {
      throw ProtocolError("engine message is cut short");
    }
    return static_cast<std::size_t>(value);
  }
  void require_end() const {
    if (!rest_.empty()) {
      throw ProtocolError("engine message is longer than its content");
    }
  }

 private:
  void copy(void* to, std::size_t size) {
    if (size > rest_.size()) {
      throw ProtocolError("engine message is cut short");
    }
    if (size > 0) {
      std::memcpy(to, rest_.data(), size);
    }
    rest_ = rest_.subspan(size);
  }
  std::span<const std::byte> rest_;
};

}  // namespace firstglow::sim
