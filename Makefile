# kartwright: `make demo` shows what it does, `make test` proves it.
# `make help` lists the targets.
#
# CC, CFLAGS, CPPFLAGS and LDFLAGS are yours: ours are added to them. Every kind
# of build has a folder of its own below build/, so that none mixes with another.

VERSION := 0.1.0

prefix ?= $(or $(PREFIX),/usr/local)
bindir ?= $(prefix)/bin
libdir ?= $(prefix)/lib
includedir ?= $(prefix)/include
mandir ?= $(prefix)/share/man
pkgconfigdir ?= $(libdir)/pkgconfig
INSTALL ?= install
AR ?= ar

ifeq ($(origin CC),default)
CC := gcc
endif
KIND ?= $(if $(SANITIZE),sanitize,release)
B := build/$(KIND)$(if $(filter-out gcc,$(notdir $(CC))),-$(notdir $(CC)))

STANDARD := -std=c17 -D_POSIX_C_SOURCE=200809L
WARNINGS := -Wall -Wextra -Wpedantic -Wshadow -Wconversion $(WERROR)
OPTIMIZE_release := -O2 -g -DNDEBUG
OPTIMIZE_test := -O2 -g
OPTIMIZE_sanitize := -O1 -g -fno-omit-frame-pointer \
	-fsanitize=address,undefined -fno-sanitize-recover=all
OPTIMIZE_coverage := -O0 -g --coverage
OPTIMIZE := $(OPTIMIZE_$(KIND))
OUR_CPPFLAGS := -Iinclude -Isrc -Itests -DKW_VERSION='"$(VERSION)"'
OUR_CFLAGS := $(STANDARD) $(WARNINGS) -fPIC -fvisibility=hidden $(OPTIMIZE)
COMPILE = $(CC) $(OUR_CPPFLAGS) $(CPPFLAGS) $(OUR_CFLAGS) $(CFLAGS) -MMD -MP
LINK = $(CC) $(OUR_CFLAGS) $(CFLAGS) $(LDFLAGS)

LIBS := -lcsv -lgsl -lgslcblas -linih -lsqlite3 -ljansson -lz -lm
TEST_LIBS := -lcmocka

ROOMS := core import signal analysis advice compare trackside logbook report
LIB_SOURCES := $(sort $(foreach room,$(ROOMS),$(wildcard src/$(room)/*.c)))
CLI_SOURCES := $(sort $(wildcard src/cli/*.c))
TEST_SOURCES := $(sort $(wildcard $(addprefix tests/,$(addsuffix /test_*.c,\
	$(ROOMS) cli sim score reference))))
SUPPORT_SOURCES := $(sort $(filter-out %/failing_memory.c,\
	$(wildcard tests/support/*.c)))
SIM_SOURCES := $(sort $(filter-out tests/sim/test_%,$(wildcard tests/sim/*.c)))
SCORE_SOURCES := $(sort $(filter-out tests/score/test_%,\
	$(wildcard tests/score/*.c)))

# Commands are shown in short; V=1 shows them whole.
Q := $(if $(V),,@)
show = $(if $(V),,@echo '  $(1) $@')

objects = $(patsubst %.c,$(B)/%.o,$(1))
LIB_OBJECTS := $(call objects,$(LIB_SOURCES))
CLI_OBJECTS := $(call objects,$(CLI_SOURCES))
SUPPORT_OBJECTS := $(call objects,$(SUPPORT_SOURCES))
SIM_OBJECTS := $(call objects,$(SIM_SOURCES))
SCORE_OBJECTS := $(call objects,$(SCORE_SOURCES))
SIM_PARTS := $(filter-out %/sim_main.o,$(SIM_OBJECTS))
SCORE_PARTS := $(filter-out %/score_main.o,$(SCORE_OBJECTS))
TESTS := $(patsubst %.c,$(B)/%,$(TEST_SOURCES))

PROGRAM := $(B)/kartwright
STATIC := $(B)/libkartwright.a
SHARED := $(B)/libkartwright.so.$(VERSION)
SONAME := libkartwright.so.0
SIM := $(B)/kartwright-sim
SCORE := $(B)/kartwright-score
SCORE_COMPARE := $(B)/kartwright-score-compare
SCORE_COMPARE_OBJECTS := $(call objects,tests/compare/score_compare.c)
BENCH := $(B)/kartwright-bench
BENCH_BOOK := $(B)/kartwright-bench-book

.PHONY: all
all: $(PROGRAM) $(STATIC) $(SHARED) $(B)/kartwright.pc

$(PROGRAM): $(CLI_OBJECTS) $(STATIC)
	$(call show,link)
	$(Q)$(LINK) -o $@ $^ $(LIBS)

$(STATIC): $(LIB_OBJECTS)
	$(Q)rm -f $@
	$(Q)$(AR) rcs $@ $^

$(SHARED): $(LIB_OBJECTS) src/kartwright.map
	$(call show,link)
	$(Q)$(LINK) -shared -Wl,-soname,$(SONAME) \
		-Wl,--version-script=src/kartwright.map -o $@ $(LIB_OBJECTS) $(LIBS)

# Made anew each time: the prefix is not a file that could be newer.
$(B)/kartwright.pc: src/kartwright.pc.in FORCE
	@mkdir -p $(@D)
	$(Q)sed -e 's|@prefix@|$(prefix)|' -e 's|@libdir@|$(libdir)|' \
		-e 's|@includedir@|$(includedir)|' -e 's|@version@|$(VERSION)|' \
		$< > $@

$(SIM): $(SIM_OBJECTS) $(STATIC)
	$(call show,link)
	$(Q)$(LINK) -o $@ $^ $(LIBS)

$(SCORE): $(SCORE_OBJECTS) $(STATIC)
	$(call show,link)
	$(Q)$(LINK) -o $@ $^ $(LIBS)

$(SCORE_COMPARE): $(SCORE_COMPARE_OBJECTS) $(B)/parts.a $(STATIC)
	$(call show,link)
	$(Q)$(LINK) -o $@ $^ $(LIBS)

$(BENCH): $(B)/tests/bench/bench_main.o
	$(call show,link)
	$(Q)$(LINK) -o $@ $^ -lcsv

$(BENCH_BOOK): $(B)/tests/bench/book_main.o $(STATIC)
	$(call show,link)
	$(Q)$(LINK) -o $@ $^ $(LIBS)

$(B)/%.o: %.c Makefile
	@mkdir -p $(@D)
	$(call show,cc  )
	$(Q)$(COMPILE) -c -o $@ $<

# A test is one program: its own file, the shared builders, the library, and the
# parts of the simulator and the scorer that some of them examine.
$(B)/tests/%: $(B)/tests/%.o $(SUPPORT_OBJECTS) $(B)/parts.a $(STATIC)
	$(call show,link)
	$(Q)$(LINK) -o $@ $^ $(TEST_LIBS) $(LIBS)

# Here the n-th allocation fails.
MEMORY_TESTS := $(B)/tests/import/test_memory \
	$(B)/tests/logbook/test_logbook_memory
$(MEMORY_TESTS): $(call objects,tests/support/failing_memory.c)
$(MEMORY_TESTS): TEST_LIBS += -Wl,--wrap=malloc,--wrap=calloc,--wrap=realloc

$(B)/parts.a: $(SIM_PARTS) $(SCORE_PARTS)
	@mkdir -p $(@D)
	$(Q)rm -f $@
	$(Q)$(AR) rcs $@ $^

-include $(patsubst %.c,$(B)/%.d,$(LIB_SOURCES) $(CLI_SOURCES) $(TEST_SOURCES) \
	$(SUPPORT_SOURCES) $(SIM_SOURCES) $(SCORE_SOURCES) \
	tests/compare/score_compare.c tests/support/failing_memory.c)

.SECONDARY:

.PHONY: FORCE
FORCE:

# ---- what a person types ------------------------------------------------

.PHONY: demo
demo: needed
	$(MAKE) all
	scripts/demo $(PROGRAM)

.PHONY: needed
needed:
	scripts/install-needed

# The tests build with warnings as errors and with assertions.
.PHONY: test check
test check: needed
	$(MAKE) KIND=$(if $(SANITIZE),sanitize,test) WERROR=-Werror run-tests

.PHONY: run-tests
run-tests: all $(TESTS) $(SIM) $(SCORE)
	scripts/run-tests $(B) $(TESTS)

.PHONY: sanitize
sanitize:
	$(MAKE) SANITIZE=1 test

.PHONY: valgrind
valgrind:
	$(MAKE) KIND=test WERROR=-Werror all \
		$(patsubst $(B)/%,build/test/%,$(TESTS)) build/test/kartwright-sim
	RUN_UNDER='valgrind -q --error-exitcode=9 --leak-check=full' \
		scripts/run-tests build/test $(patsubst $(B)/%,build/test/%,$(TESTS))

# Kills a writer of the logbook some hundreds of times.
.PHONY: test-logbook-kill
test-logbook-kill:
	$(MAKE) KIND=test WERROR=-Werror build/test/tests/logbook/test_trust
	KW_KILL_ROUNDS=400 build/test/tests/logbook/test_trust

.PHONY: lint
lint:
	scripts/lint

.PHONY: format
format:
	clang-format -i $$(git ls-files '*.c' '*.h')

.PHONY: score
score: all $(SIM) $(SCORE)
	scripts/score $(B)

.PHONY: score-compare
score-compare: $(SCORE_COMPARE)
	scripts/score-compare $(B) $(PAIRS)

.PHONY: bench
bench: all $(BENCH)
	scripts/bench $(B)

# The logbook with 1,000 and 10,000 sessions.
.PHONY: bench-logbook
bench-logbook: all $(BENCH) $(BENCH_BOOK)
	scripts/bench-logbook $(B)

.PHONY: samples
samples: $(SIM)
	scripts/make-samples $(SIM)

.PHONY: install
install: all
	$(INSTALL) -d $(DESTDIR)$(bindir) $(DESTDIR)$(libdir) \
		$(DESTDIR)$(includedir)/kartwright $(DESTDIR)$(pkgconfigdir) \
		$(DESTDIR)$(mandir)/man1
	$(INSTALL) -m 755 $(PROGRAM) $(DESTDIR)$(bindir)/kartwright
	$(INSTALL) -m 644 $(STATIC) $(DESTDIR)$(libdir)/libkartwright.a
	$(INSTALL) -m 755 $(SHARED) $(DESTDIR)$(libdir)/libkartwright.so.$(VERSION)
	ln -sf libkartwright.so.$(VERSION) $(DESTDIR)$(libdir)/$(SONAME)
	ln -sf $(SONAME) $(DESTDIR)$(libdir)/libkartwright.so
	$(INSTALL) -m 644 include/kartwright/*.h \
		$(DESTDIR)$(includedir)/kartwright
	$(INSTALL) -m 644 $(B)/kartwright.pc $(DESTDIR)$(pkgconfigdir)
	$(INSTALL) -m 644 src/man/*.1 $(DESTDIR)$(mandir)/man1

.PHONY: uninstall
uninstall:
	rm -f $(DESTDIR)$(bindir)/kartwright $(DESTDIR)$(libdir)/libkartwright.a \
		$(DESTDIR)$(libdir)/libkartwright.so* \
		$(DESTDIR)$(pkgconfigdir)/kartwright.pc
	rm -f $(patsubst src/man/%,$(DESTDIR)$(mandir)/man1/%,$(wildcard src/man/*.1))
	rm -rf $(DESTDIR)$(includedir)/kartwright

.PHONY: clean
clean:
	rm -rf build

.PHONY: help
help:
	@echo 'make            build the program and the libraries'
	@echo 'make demo       install what is missing, build, review a sample log'
	@echo 'make test       install what is missing, run all tests'
	@echo 'make SANITIZE=1 test    the same with ASan and UBSan'
	@echo 'make valgrind   the tests under valgrind'
	@echo 'make test-logbook-kill   hundreds of kill -9 against the logbook'
	@echo 'make lint       layers, lengths, banned functions, format, man page'
	@echo 'make score      score the detectors on simulated, labelled sessions'
	@echo 'make score-compare  the same for comparisons, on simulated pairs'
	@echo 'make bench      how fast, as ratios; make bench-logbook  the logbook'
	@echo 'make samples    make the sample logs again'
	@echo 'make install    DESTDIR= PREFIX=   make uninstall   make clean'
