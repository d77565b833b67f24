#include "core/stock_list.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace firstglow::core {
namespace {

using ::testing::HasSubstr;

TEST(StockList, FindsColumnsByTheirHeadings) {
  const auto stock = read_stock_text(
      "quantity,name,value,size\r\n"
      "4,\"A3, left\",47 uF,25x40 mm\r\n"
      "\r\n"
      "0,A4,100 uF,\r\n",
      "stock.csv");
  ASSERT_EQ(stock.size(), 2U);
  EXPECT_EQ(stock[0].name, "A3, left");
  EXPECT_EQ(stock[0].quantity, 4);
  EXPECT_EQ(stock[0].size->mm, (std::vector<double>{25.0, 40.0}));
  EXPECT_EQ(stock[0].where.line, 2);
  EXPECT_EQ(stock[1].quantity, 0);
  EXPECT_FALSE(stock[1].size);
}

TEST(StockList, ReportsEveryFaultInOnePass) {
  try {
    static_cast<void>(
        read_stock_text("name,volt,quantity,size\n,450 V,-1,big\n\"A2,450 V\n", "stock.csv"));
    FAIL() << "no fault";
  } catch (const InputError& error) {
    const std::string what = error.what();
    EXPECT_THAT(what, HasSubstr("stock.csv:1:6: unknown heading 'volt'"));
    EXPECT_THAT(what, HasSubstr("did you mean 'volts'?"));
    EXPECT_THAT(what, HasSubstr("stock.csv:2:1: a row without a name"));
    EXPECT_THAT(what, HasSubstr("'-1' is no quantity"));
    EXPECT_THAT(what, HasSubstr("'big' is no size"));
    EXPECT_THAT(what, HasSubstr("stock.csv:3:1: a quote that opens here is never closed"));
  }
}

TEST(StockList, RefusesAnEmptyFileAndControlCharacters) {
  EXPECT_THROW(static_cast<void>(read_stock_text("", "s")), InputError);
  EXPECT_THROW(static_cast<void>(read_stock_text(std::string("name\nA\x1b\n"), "s")), InputError);
}

// 1 in = 25.4 mm exactly.
TEST(BodySize, ReadsMillimetresAndInches) {
  EXPECT_DOUBLE_EQ(read_body_size("1 x 2 in")->mm[1], 50.8);
  EXPECT_EQ(read_body_size("18x8x30 mm")->mm.size(), 3U);
  for (const char* text : {"", "25", "25x40", "0x4 mm", "x4 mm", "1x2x3x4 mm", "-1x4 mm"}) {
    EXPECT_FALSE(read_body_size(text)) << text;
  }
}

// A can of 35 x 50 stands in a hole of 35 x 50 and in a box 35 x 35 x 50, not in 34.9 x 50.
TEST(BodySize, FitsWhenEveryEdgeFits) {
  const BodySize can{{35.0, 50.0}};
  EXPECT_TRUE(fits_into(can, can));
  EXPECT_TRUE(fits_into(can, BodySize{{50.0, 35.0, 35.0}}));
  EXPECT_FALSE(fits_into(can, BodySize{{34.9, 50.0}}));
  EXPECT_FALSE(fits_into(can, BodySize{{35.0, 49.9}}));
}

}  // namespace
}  // namespace firstglow::core
