# dovetell: build, try, test. `make help` lists the targets.
# One folder of objects for each configuration: BUILD=build (default), build/sanitize, build/clang, ...

BUILD   ?= build
CC      ?= cc
CFLAGS  ?= -O3 -g
WARN    := -std=c11 -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wcast-qual -Wstrict-prototypes -Wmissing-prototypes
PKGS    := libxml-2.0 igraph geos jansson librsvg-2.0 cairo glib-2.0 libmicrohttpd zlib
FIND_CFLAGS := pkg-config --cflags-only-I $(PKGS) check | sed 's/-I/-isystem /g'
DEFINES := -D_POSIX_C_SOURCE=200809L -D_DEFAULT_SOURCE
ALL_CFLAGS = $(WARN) $(DEFINES) $(if $(WRAP),-DWRAPPED_ALLOCATIONS) $(CFLAGS) -Iinclude -Isrc -Itests/support -I$(BUILD)/gen $(cached_pkg_cflags) -pthread
LIBS       = $(cached_pkg_libs) -lm -pthread
# The test programs can make allocations of ours fail (tests/support/failing.h), where the linker knows --wrap.
comma := ,
WRAP := $(if $(filter Linux,$(shell uname -s)),$(foreach f,malloc calloc realloc strdup free,-Wl$(comma)--wrap=$(f)))

LIB_SRC   := $(filter-out src/cli/%,$(wildcard src/*/*.c))
CLI_SRC   := $(wildcard src/cli/*.c)
UNIT_SRC  := $(wildcard tests/unit/*.c)
SLOW_SRC  := $(wildcard tests/slow/*.c)
SUPP_SRC  := $(wildcard tests/support/*.c)
BENCH_SRC := $(wildcard tests/bench/*.c)
TOOL_SRC  := $(wildcard corpus/tools/*.c)
FUZZ_SRC  := $(wildcard tests/fuzz/fuzz_*.c)
ASSETS    := $(patsubst src/%,$(BUILD)/gen/%.inc,$(wildcard src/*/*.js src/*/*.css src/*/*.html))
obj = $(patsubst %.c,$(BUILD)/obj/%.o,$(1))

.DEFAULT_GOAL := all
.PHONY: all help setup demo test test-slow check-layers bench fuzz corpus sanitize clean run-demo run-test run-slow run-bench run-fuzz unit cli-cases

help:
	@echo "make            build the program: $(BUILD)/dovetell"
	@echo "make demo       set up, build, and rate the three demo drafts"
	@echo "make test       set up, build, and run all quick tests"
	@echo "make test-slow  the long ones too: published counts, real drawings, a real browser"
	@echo "make bench      stage times, memory, and ratios"
	@echo "make sanitize   the quick tests under address, undefined-behaviour and leak sanitizers"
	@echo "make fuzz       run the fuzz harnesses for a while (SECONDS=60)"
	@echo "make corpus     make the generated drafts of corpus/ anew"
	@echo "make clean      remove $(BUILD)/"

all: setup
	@$(MAKE) --no-print-directory $(BUILD)/dovetell

setup:
	@sh .ci/setup

demo: setup
	@$(MAKE) --no-print-directory run-demo
test: setup
	@$(MAKE) --no-print-directory run-test
test-slow: setup
	@$(MAKE) --no-print-directory run-slow
bench: setup
	@$(MAKE) --no-print-directory run-bench
fuzz: setup
	@$(MAKE) --no-print-directory run-fuzz
sanitize: setup
	@UBSAN_OPTIONS=print_stacktrace=1:halt_on_error=1 LSAN_OPTIONS=suppressions=$(CURDIR)/tests/support/leaks-of-others.txt:print_suppressions=0 $(MAKE) --no-print-directory run-test BUILD=build/sanitize \
	  CFLAGS="-O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined"

# ---- building ----

# Made only when pkg-config knows every library: empty flags would stay, and fail every later build.
$(BUILD)/flags.mk: Makefile
	@pkg-config --exists $(PKGS) check 2>/dev/null || { echo "libraries are missing: \`make setup\` installs them" >&2; exit 1; }
	@mkdir -p $(@D)
	@printf 'cached_pkg_cflags := %s\ncached_pkg_libs := %s\ncached_check_libs := %s\n' "$$($(FIND_CFLAGS))" \
	  "$$(pkg-config --libs $(PKGS))" "$$(pkg-config --libs check)" > $@

# Read only by the targets that compile (a fresh machine has no pkg-config before the set-up).
ifneq ($(filter run-% $(BUILD)/% unit cli-cases corpus,$(MAKECMDGOALS)),)
include $(BUILD)/flags.mk
endif

$(BUILD)/obj/%.o: %.c | $(ASSETS)
	@mkdir -p $(@D)
	$(CC) $(ALL_CFLAGS) -MMD -MP -c $< -o $@

.SECONDARY: $(ASSETS)
$(BUILD)/gen/%.inc: src/%
	@mkdir -p $(@D)
	@od -An -v -tx1 $< | sed 's/ \([0-9a-f][0-9a-f]\)/0x\1,/g' > $@

$(BUILD)/libdovetell.a: $(call obj,$(LIB_SRC))
	@rm -f $@
	@ar rcs $@ $^

$(BUILD)/libsupport.a: $(call obj,$(filter-out tests/support/runner.c,$(SUPP_SRC)))
	@rm -f $@
	@ar rcs $@ $^

$(BUILD)/dovetell: $(call obj,$(CLI_SRC)) $(BUILD)/libdovetell.a
	$(CC) $(CFLAGS) $^ $(LIBS) -o $@

# ---- tests: each tests/unit/NAME.c (tests/slow/NAME.c) defines `Suite *suite_NAME(void)` ----

$(BUILD)/gen/%-suites.h: tests/% $(UNIT_SRC) $(SLOW_SRC)
	@mkdir -p $(@D)
	@for f in $(basename $(notdir $(wildcard tests/$*/*.c))); do echo "SUITE($$f)"; done > $@

$(BUILD)/unit-tests: tests/support/runner.c $(BUILD)/gen/unit-suites.h $(call obj,$(UNIT_SRC)) $(BUILD)/libsupport.a $(BUILD)/libdovetell.a
	$(CC) $(ALL_CFLAGS) -DSUITES='"unit-suites.h"' $(filter %.c %.o,$^) $(BUILD)/libsupport.a $(BUILD)/libdovetell.a $(cached_check_libs) $(LIBS) $(WRAP) -o $@

$(BUILD)/slow-tests: tests/support/runner.c $(BUILD)/gen/slow-suites.h $(call obj,$(SLOW_SRC)) $(BUILD)/libsupport.a $(BUILD)/libdovetell.a
	$(CC) $(ALL_CFLAGS) -DSUITES='"slow-suites.h"' $(filter %.c %.o,$^) $(BUILD)/libsupport.a $(BUILD)/libdovetell.a $(cached_check_libs) $(LIBS) $(WRAP) -o $@

# ONLY=suite runs one suite.
unit: $(BUILD)/unit-tests
	$(if $(ONLY),CK_RUN_SUITE=$(ONLY)) CK_DEFAULT_TIMEOUT=120 $(BUILD)/unit-tests

check-layers:
	@sh .ci/layers

cli-cases: $(BUILD)/dovetell
	@sh tests/cli/run $(BUILD)/dovetell

run-test: check-layers $(BUILD)/unit-tests $(BUILD)/dovetell
	CK_DEFAULT_TIMEOUT=300 $(BUILD)/unit-tests
	@sh tests/cli/run $(BUILD)/dovetell

run-slow: $(BUILD)/slow-tests $(BUILD)/dovetell
	CK_DEFAULT_TIMEOUT=1800 $(BUILD)/slow-tests
	@sh tests/browser/run $(BUILD)/dovetell

# ---- benchmark, corpus, fuzzing: one program for each file ----

$(BUILD)/bench/%: $(BUILD)/obj/tests/bench/%.o $(BUILD)/libsupport.a $(BUILD)/libdovetell.a
	@mkdir -p $(@D)
	$(CC) $(CFLAGS) $^ $(cached_check_libs) $(LIBS) -o $@

run-bench: $(patsubst tests/bench/%.c,$(BUILD)/bench/%,$(BENCH_SRC))
	@for b in $^; do $$b || exit 1; done

$(BUILD)/tools/%: $(BUILD)/obj/corpus/tools/%.o $(BUILD)/libsupport.a $(BUILD)/libdovetell.a
	@mkdir -p $(@D)
	$(CC) $(CFLAGS) $^ $(LIBS) -o $@

corpus: $(patsubst corpus/tools/%.c,$(BUILD)/tools/%,$(TOOL_SRC))
	@sh corpus/make $(BUILD)/tools

# Linked by clang's fuzzer; CFLAGS come from tests/fuzz/run.
$(BUILD)/harness-%: $(BUILD)/obj/tests/fuzz/fuzz_%.o $(call obj,$(filter-out tests/support/runner.c,$(SUPP_SRC))) $(BUILD)/libdovetell.a
	$(CC) $(CFLAGS) $^ $(cached_check_libs) $(LIBS) $(WRAP) -o $@

SECONDS ?= 60
run-fuzz:
	@sh tests/fuzz/run $(SECONDS)

run-demo: $(BUILD)/dovetell
	@sh corpus/demo/run $(BUILD)/dovetell

clean:
	rm -rf $(BUILD)

-include $(shell find $(BUILD)/obj -name '*.d' 2>/dev/null)
