// Catch2 2 makes its main function from this macro; Catch2 3 brings one in its library, and this file is then empty.
#if !__has_include(<catch2/catch_test_macros.hpp>)
#define CATCH_CONFIG_MAIN
#include <catch2/catch.hpp>
#endif
