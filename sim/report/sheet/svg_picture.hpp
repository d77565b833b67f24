#pragma once
/// @file
/// How does a drawing of another program become part of the page?
///
/// Drawing programs get no text of a record at all: every word stands for itself by a placeholder
/// of letters and digits of the same width, and is put in its place here, as text.

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/report/sheet/html.hpp"

namespace firstglow::sim {

/// The words of one picture.
class PictureLabels {
 public:
  /// A placeholder as wide as the words: "k7nnnn". Only letters and digits.
  [[nodiscard]] std::string placeholder(std::string_view words);
  /// The words of a placeholder; empty when it is none.
  [[nodiscard]] std::optional<std::string> words_of(std::string_view placeholder) const;

 private:
  std::vector<std::string> words_;
};

struct PictureWords {
  std::string id;           ///< unique on the page
  std::string title;        ///< what it shows
  std::string description;  ///< what a person who cannot see it has to know
};

/// The drawing as an <svg> for the page: only shapes and text, with presentation attributes only
/// (the page's policy forbids style attributes), black turned into the colour of the page's text,
/// ids made unique, title and description for a screen reader.
///
/// Model: what is not on the list of known elements and attributes is left out; a text that is
/// neither a number nor a placeholder is left out as well.
/// @returns empty when it is no SVG at all
[[nodiscard]] std::optional<Markup> svg_for_page(const std::string& svg,
                                                 const PictureLabels& labels,
                                                 const PictureWords& words);

/// The picture with its caption; when there is none, the reason in its place.
[[nodiscard]] Markup figure(const PictureWords& words, const std::optional<Markup>& svg,
                            const std::string& why_not);

}  // namespace firstglow::sim
