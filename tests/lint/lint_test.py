"""Can each lint fail? Every case lays out a small tree and reads what the lint says of it."""

import pathlib
import subprocess
import sys
import tempfile
import unittest

HERE = pathlib.Path(__file__).resolve().parent


def run(lint, tree):
    """(exit code, output) of a lint on a tree given as {path: text}."""
    with tempfile.TemporaryDirectory() as folder:
        for path, text in tree.items():
            target = pathlib.Path(folder, path)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(text, encoding="utf-8")
        done = subprocess.run([sys.executable, str(HERE / lint), folder], capture_output=True,
                              text=True, check=False)
        return done.returncode, done.stdout + done.stderr


class LintCase(unittest.TestCase):
    lint = ""

    def accepts(self, tree):
        code, said = run(self.lint, tree)
        self.assertEqual(code, 0, said)
        return said

    def refuses(self, tree, *phrases):
        code, said = run(self.lint, tree)
        self.assertEqual(code, 1, said)
        for phrase in phrases:
            self.assertIn(phrase, said)


class LayersTest(LintCase):
    lint = "layers.py"

    def test_downwards_is_accepted(self):
        self.accepts({"core/a.hpp": "#pragma once\n",
                      "sim/app/main.cpp": '#include "core/a.hpp"\n#include <CLI/CLI.hpp>\n'})

    def test_upwards_is_refused(self):
        self.refuses({"netlists/b.hpp": "", "core/a.hpp": '\n#include "netlists/b.hpp"\n'},
                     'core/a.hpp:2: core includes "netlists/b.hpp", upwards')

    def test_upwards_between_rooms_of_sim_is_refused(self):
        self.refuses({"sim/studies/b.hpp": "", "sim/engine/a.cpp": '#include "sim/studies/b.hpp"'},
                     "sim/engine includes")

    def test_an_include_in_a_comment_does_not_count(self):
        self.accepts({"netlists/b.hpp": "", "core/a.hpp": '// #include "netlists/b.hpp"\n'})

    def test_a_ring_of_headers_is_refused(self):
        self.refuses({"core/a.hpp": '#include "core/b.hpp"', "core/b.hpp": '#include "core/a.hpp"'},
                     "core/a.hpp -> core/b.hpp -> core/a.hpp")

    def test_an_unknown_header_is_refused(self):
        self.refuses({"core/a.cpp": '#include "a.hpp"', "core/a.hpp": ""}, "not in the tree")

    def test_a_file_outside_the_rooms_is_refused(self):
        self.refuses({"sim/a.cpp": ""}, "sim/a.cpp:1: lies in no room")

    def test_a_test_header_in_a_room_is_refused(self):
        self.refuses({"core/a.cpp": '#include "tests/b.hpp"', "tests/b.hpp": ""}, "lies in no room")

    def test_guests_outside_their_place_are_refused(self):
        self.refuses({"sim/engine/worker.cpp": "#include <ngspice/sharedspice.h>\n",
                      "netlists/a.cpp": "#include <yaml-cpp/yaml.h>\n",
                      "core/b.hpp": "#include <fmt/format.h>\n",
                      "sim/report/c.cpp": "#include <CLI/CLI.hpp>\n"},
                     "sim/engine/worker.cpp:1", "netlists/a.cpp:1", "core/b.hpp:1",
                     "sim/report/c.cpp:1", "4 fault(s)")

    def test_guests_in_their_place_are_accepted(self):
        self.accepts({"sim/engine/ngspice_session.cpp": "#include <ngspice/sharedspice.h>\n",
                      "core/a.cpp": "#include <yaml-cpp/yaml.h>\n#include <fmt/format.h>\n"})


class ReferencesTest(LintCase):
    lint = "references.py"
    LIST = "# References\n\n[AB-1] A title\n"

    def test_a_listed_key_is_accepted(self):
        self.accepts({"docs/references.md": self.LIST, "core/a.cpp": "// [AB-1] eq. (7)\n"})

    def test_an_unlisted_key_is_refused(self):
        self.refuses({"docs/references.md": self.LIST, "core/a.cpp": "\n// [CD-2] eq. (7)\n"},
                     "core/a.cpp:2: [CD-2] is not in docs/references.md")

    def test_an_unlisted_key_in_a_string_or_a_record_is_refused(self):
        self.refuses({"docs/references.md": self.LIST, "tests/a.cpp": 'Published k{1, "[CD-2]"};',
                      "core/parts.yaml": "source: '[EF-3]'\n"}, "[CD-2]", "[EF-3]")

    def test_a_key_listed_twice_is_refused(self):
        self.refuses({"docs/references.md": self.LIST + "[AB-1] Again\n"}, "[AB-1] is listed twice")

    def test_subscripts_links_lists_and_character_sets_are_no_keys(self):
        self.accepts({"docs/references.md": self.LIST,
                      "core/a.cpp": "a[INDEX]; b[2][MAXN]; // [V] [1000] [KEY-1]\n\"[A-Z0-9]\"",
                      "README.md": "[HOWTO](x.md)\n", "r.yaml": "nodes: [HV1, HV2]\n"})

    def test_an_unused_key_is_only_remarked(self):
        self.assertIn("not cited yet: AB-1", self.accepts({"docs/references.md": self.LIST}))

    def test_a_missing_list_is_refused(self):
        self.refuses({"core/a.cpp": ""}, "the list of sources is missing")


class FileSizesTest(LintCase):
    lint = "file_sizes.py"

    def test_limits(self):
        self.assertNotIn("remark", self.accepts({"core/a.cpp": "\n" * 300}))
        self.assertIn("remark: core/a.cpp: 301", self.accepts({"core/a.cpp": "\n" * 301}))
        self.accepts({"core/a.cpp": "\n" * 500})
        self.refuses({"core/a.hpp": "\n" * 501}, "core/a.hpp:500: 501 lines")


class ForbiddenTextTest(LintCase):
    lint = "forbidden_text.py"

    def test_plain_text_is_accepted(self):
        self.accepts({"README.md": "see docs/home/x and https://example.org/home/ , 1/work/2\n",
                      "core/a.cpp": "auto s = std::to_string(count); // printf( std::cout\n",
                      "sim/app/main.cpp": "std::cout << 1;\n"})

    def test_machine_paths_are_refused(self):
        for place in ("ho" "me/someone/x", "wo" "rk/main", "ro" "ot/x", "Us" "ers/me/x"):
            self.refuses({"docs/a.md": f"\n\nsee /{place}\n"}, f"docs/a.md:3: '/{place[:2]}")

    def test_registry_hosts_are_refused(self):
        self.refuses({"bootstrap.sh": "http://deb.deb" "ian.org/debian\n"}, "bootstrap.sh:1")

    def test_fast_math_is_refused(self):
        self.refuses({"CMakeLists.txt": "add_compile_options(-ffast" "-math)\n"}, "finite values")

    def test_text_of_a_double_is_refused(self):
        for code in ("std::to_string(plate.si())", "std::to_string(1.5)", "std::to_string(bias_v)",
                     "double x = 1; std::to_string(x)"):
            self.refuses({"core/a.cpp": f"void f() {{ {code}; }}\n"}, "six decimals")

    def test_not_a_number_and_printing_are_refused_in_rooms_only(self):
        bad = "double f() { std::cerr << 1; return std::numeric_limits<double>::quiet_NaN(); }\n"
        self.refuses({"netlists/a.cpp": bad}, "std::optional", "never print", "2 fault(s)")
        self.accepts({"tests/netlists/a_test.cpp": bad})

    def test_the_forbidden_promise_is_refused(self):
        self.refuses({"sim/report/a.cpp": 'auto s = "now safe to touch";\n'}, "never to be said")


class FormatTest(LintCase):
    lint = "format.py"
    STYLE = "BasedOnStyle: Google\nColumnLimit: 100\n"

    def setUp(self):
        if run(self.lint, {})[0] == 77:
            self.skipTest("clang-format 14 is not installed")

    def test_formatted_is_accepted(self):
        self.accepts({".clang-format": self.STYLE, "core/a.cpp": "int f() { return 1; }\n"})

    def test_not_formatted_is_refused(self):
        self.refuses({".clang-format": self.STYLE, "core/a.cpp": "int g();\nint  f( ) {return 1;}\n"},
                     "core/a.cpp:2: not formatted")


if __name__ == "__main__":
    unittest.main()
