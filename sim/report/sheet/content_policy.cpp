#include "sim/report/sheet/content_policy.hpp"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <array>

#include "core/error.hpp"

namespace firstglow::sim {
namespace {

constexpr std::size_t kDigestBytes = 32;

std::string allowed(const char* directive, const std::vector<std::string_view>& texts) {
  std::string words = directive;
  for (const std::string_view text : texts) {
    words += fmt::format(" '{}'", policy_hash(text));
  }
  return texts.empty() ? words + " 'none'" : words;
}

}  // namespace

std::string policy_hash(std::string_view text) {
  std::array<unsigned char, kDigestBytes> digest{};
  unsigned length = 0;
  const int done =
      EVP_Digest(text.data(), text.size(), digest.data(), &length, EVP_sha256(), nullptr);
  FIRSTGLOW_REQUIRE(done == 1 && length == kDigestBytes, "SHA-256 gives 32 bytes");
  std::array<unsigned char, 4 * ((kDigestBytes + 2) / 3) + 1> words{};
  const int written = EVP_EncodeBlock(words.data(), digest.data(), kDigestBytes);
  return "sha256-" + std::string(words.begin(), words.begin() + written);
}

std::string content_policy(const std::vector<std::string_view>& styles,
                           const std::vector<std::string_view>& scripts) {
  return fmt::format(
      "default-src 'none'; {}; {}; img-src data:; base-uri 'none'; form-action 'none'",
      allowed("style-src", styles), allowed("script-src", scripts));
}

}  // namespace firstglow::sim
