# Underfoot: build, run, test. `make help` lists the targets.
#
# One file. Objects live in build/<flags>/ so that sanitizer builds never mix. `run` and `test` first
# install what is missing from Debian (through sudo when not root), then call make again, since
# pkg-config itself may be among the missing.

SHELL := /bin/bash
.DEFAULT_GOAL := all

# ---------------------------------------------------------------- what Debian must provide
PKGS_BUILD := gcc libc6-dev pkg-config libsdl2-dev libsdl2-ttf-dev libserialport-dev libsqlite3-dev libzstd-dev \
              libinih-dev gettext libcairo2-dev libpango1.0-dev libfontconfig-dev uuid-dev libcrypt-dev fonts-b612 \
              fonts-dejavu-core fonts-ipaexfont-gothic
PKGS_TEST  := libcriterion-dev python3-scipy python3-numpy xvfb xauth xdotool x11-xserver-utils imagemagick sqlite3 strace util-linux poppler-utils
PKGS_FIRMWARE := gcc-avr avr-libc binutils-avr libsimavr-dev libelf-dev
PKGS_LINT  := cppcheck clang-tidy
PKGS_FUZZ  := clang libclang-rt-dev llvm
PKGS_USB   := qemu-system-x86 busybox-static cpio

# $(1): packages. Prints what it installs; says nothing when all is there.
define install_missing
	@missing=""; for p in $(1); do \
	  dpkg-query -W -f='$${Status}' $$p 2>/dev/null | grep -q 'ok installed' || missing="$$missing $$p"; done; \
	if [ -n "$$missing" ]; then \
	  echo "installing from Debian:$$missing"; \
	  as_root=""; if [ "$$(id -u)" != 0 ]; then \
	    command -v sudo >/dev/null || { echo "not root and no sudo here: as root, run: apt-get install$$missing" >&2; exit 1; }; \
	    as_root="sudo"; fi; \
	  $$as_root apt-get update -qq && \
	  DEBIAN_FRONTEND=noninteractive $$as_root apt-get install -y -qq --no-install-recommends $$missing >/dev/null || \
	  { echo "could not install:$$missing" >&2; exit 1; }; fi
endef

# ---------------------------------------------------------------- flags
SAN     ?=
CC      ?= gcc
empty   :=
comma   := ,
BUILD   ?= build
FLAVOUR := $(if $(SAN),san-$(subst $(comma),-,$(SAN)),main)
OBJ     := $(BUILD)/$(FLAVOUR)
WARN    := -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wdouble-promotion -Wstrict-prototypes \
           -Wmissing-prototypes -Wundef -Wvla -Wimplicit-fallthrough -Wswitch-enum -Werror
OPT     := $(if $(SAN),-O1 -fno-omit-frame-pointer,-O2)
# What reads bytes from outside is hardened: checked copies, stack canaries, no page of the stack skipped, no fixed address,
# no table of calls that can be written. Not with a sanitizer, which sees more and knows no checked copies.
HARDEN     := $(if $(SAN),,-U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=3 -fstack-protector-strong -fstack-clash-protection -fPIE)
HARDEN_LD  := $(if $(SAN),,-pie -Wl,-z,relro$(comma)-z$(comma)now$(comma)-z$(comma)noexecstack)
# -ffp-contract=off: a replay gives the same bits whatever the processor can fuse.
CFLAGS_ALL  = -std=c11 -g $(OPT) $(HARDEN) $(WARN) -ffp-contract=off -D_POSIX_C_SOURCE=200809L -Isrc -MMD -MP \
              $(if $(SAN),-fsanitize=$(SAN) -fno-sanitize-recover=undefined) $(FUZZ_CFLAGS) $(CFLAGS)
PKG_LIBS   := sdl2 SDL2_ttf libserialport sqlite3 libzstd inih cairo pangocairo fontconfig uuid libcrypt
# Asked once, when first needed: `run` and `test` may have to install pkg-config before.
PKG_CFLAGS  = $(eval PKG_CFLAGS := $$(shell pkg-config --cflags $(PKG_LIBS)))$(PKG_CFLAGS)
LIBS_ALL    = $(eval LIBS_ALL := $$(shell pkg-config --libs $(PKG_LIBS)) -lm -pthread)$(LIBS_ALL)
LDFLAGS_ALL = $(if $(SAN),-fsanitize=$(SAN)) $(HARDEN_LD) $(LDFLAGS)

V ?=
Q  := $(if $(V),,@)
say = $(if $(V),,@printf '  %-5s %s\n' $(1) $(2))

# ---------------------------------------------------------------- the program
# The folders of src/ in the order in which data travel: each is one archive, and includes only to its left.
HOUSE    := base wire link sense gait coach live setup store care paper report ui runner visit panel pages desk sim cli
SRC      := $(sort $(foreach d,$(HOUSE),$(wildcard src/$(d)/*.c)))
OBJS     := $(SRC:src/%.c=$(OBJ)/%.o)
MAIN_OBJ := $(OBJ)/cli/main.o
BIN      := $(if $(SAN),$(OBJ)/underfoot,$(BUILD)/underfoot)
archive_of = $(1:%=$(OBJ)/lib%.a)
ARCHIVES := $(call archive_of,$(HOUSE))
# The linker walks a group until nothing is missing: the order of archives is the layer check's concern, not its.
group    = -Wl,--start-group $(1) -Wl,--end-group -Wl,--as-needed $(LIBS_ALL)

# What the program says is compared in English.
validity reliability reliability-ten test-usb bench pictures house: export LC_ALL := C

.PHONY: all help run test deps-run deps-test check check-threads firmware validity test-usb bench pictures circles parameters check-quick simulated-recordings layers style words words-check mutate house hardened reliability reliability-ten clean lint install

LANGUAGES := $(wildcard assets/languages/*.po)
MO := $(LANGUAGES:assets/%.po=$(BUILD)/assets/%.mo)

all: $(BIN) $(MO) ## build the program (the libraries must be there: `make deps-run`)

# The words of a language as the program reads them; msgfmt checks the file.
$(BUILD)/assets/languages/%.mo: assets/languages/%.po
	@mkdir -p $(@D)
	$(call say,WORDS,$@)
	$(Q)msgfmt --check-format --check-domain -o $@ $<

$(BIN): $(MAIN_OBJ) $(ARCHIVES)
	$(call say,LINK,$@)
	$(Q)$(CC) $(LDFLAGS_ALL) -o $@ $(MAIN_OBJ) $(call group,$(ARCHIVES))

# Made anew, so that the member of a file that went goes too.
define archive_rule
$(OBJ)/lib$(1).a: $(filter-out $(MAIN_OBJ),$(filter $(OBJ)/$(1)/%,$(OBJS)))
	$$(Q)rm -f $$@ && ar rcs $$@ $$^
endef
$(foreach d,$(HOUSE),$(eval $(call archive_rule,$(d))))

# Other flags than those that an object was made with make it anew.
FLAGS := $(OBJ)/flags
.PHONY: FORCE
$(FLAGS): FORCE
	@mkdir -p $(@D)
	@echo '$(CFLAGS_ALL) $(LDFLAGS_ALL)' | cmp -s - $@ || echo '$(CFLAGS_ALL) $(LDFLAGS_ALL)' >$@

$(OBJ)/%.o: src/%.c $(FLAGS)
	@mkdir -p $(@D)
	$(call say,CC,$<)
	$(Q)$(CC) $(CFLAGS_ALL) $(PKG_CFLAGS) -c -o $@ $<

# ---------------------------------------------------------------- tests
# A unit test lies in the folder that it tests (tests/unit/gait) and links that folder's archive, those to its left, and
# the simulator: what points rightwards does not link. The others link the whole program but its main.
TEST_SRC  := $(sort $(wildcard tests/unit/*/test_*.c) $(wildcard tests/chain/test_*.c) $(wildcard tests/screen/test_*.c))
TEST_BIN  := $(TEST_SRC:tests/%.c=$(OBJ)/tests/%)
TEST_PLAIN_SRC := $(sort $(wildcard tests/threads/*.c))
TEST_PLAIN_BIN := $(TEST_PLAIN_SRC:tests/%.c=$(OBJ)/tests/%)
AID       := $(OBJ)/tests/libaid.a
AID_OBJ   := $(patsubst tests/%.c,$(OBJ)/tests/%.o,$(sort $(wildcard tests/aid/*.c)))
up_to      = $(if $(filter $(1),$(firstword $(2))),$(1),$(firstword $(2)) $(call up_to,$(1),$(wordlist 2,99,$(2))))
folders_of = $(if $(filter unit/%,$(1)),$(call up_to,$(word 2,$(subst /, ,$(1))),$(HOUSE)),$(HOUSE))
links_of   = $(AID) $(call archive_of,$(sort sim $(call folders_of,$(1))))

$(AID): $(AID_OBJ)
	$(Q)rm -f $@ && ar rcs $@ $^

define test_rule
$(OBJ)/tests/$(1): tests/$(1).c $(call links_of,$(1)) $(FLAGS)
	@mkdir -p $$(@D)
	$$(call say,TEST,$$@)
	$$(Q)$$(CC) $$(CFLAGS_ALL) -Itests $$(PKG_CFLAGS) $$(LDFLAGS_ALL) -MF $$@.d -o $$@ $$< $(2) $$(call group,$(call links_of,$(1)))
endef
$(foreach t,$(TEST_SRC:tests/%.c=%),$(eval $(call test_rule,$(t),-lcriterion)))
$(foreach t,$(TEST_PLAIN_SRC:tests/%.c=%),$(eval $(call test_rule,$(t),)))
$(OBJ)/tests/threads/live_desk: private LDFLAGS_ALL += -Wl,--wrap=mailbox_init,--wrap=mailbox_put # it reads along

# The page that says what every figure is worth, measured afresh.
VALIDITY_BIN := $(OBJ)/tests/validity/sim_truth
$(eval $(call test_rule,validity/sim_truth,))
validity: $(BIN) $(MO) $(VALIDITY_BIN) $(OBJ)/tests/unit/gait/test_hard_cases ## measure tests/VALIDITY.md afresh; fails out of tolerance
	@/usr/bin/python3 tests/reference/validity.py $(abspath $(BIN) $(VALIDITY_BIN) $(OBJ)/tests/unit/gait/test_hard_cases) $(ARGS)

SIMULATE_BIN := $(OBJ)/tests/data/simulate
$(eval $(call test_rule,data/simulate,))
simulated-recordings: $(SIMULATE_BIN) ## simulated recordings with truth, of the hard kinds, into build/simulated
	@mkdir -p $(BUILD)/simulated && $(SIMULATE_BIN) $(BUILD)/simulated

BENCH_BIN := $(OBJ)/tests/bench/bench
BENCH_PANEL_BIN := $(OBJ)/tests/bench/bench_panel
$(eval $(call test_rule,bench/bench,))
$(eval $(call test_rule,bench/bench_panel,))
bench: $(MO) $(BENCH_BIN) $(BENCH_PANEL_BIN) ## throughput, latency and drawing cost on this computer, as ratios
	@if [ -n "$$DISPLAY$$WAYLAND_DISPLAY$$SDL_VIDEODRIVER" ] || ! command -v xvfb-run >/dev/null; then $(BENCH_BIN) $(ARGS); \
	else xvfb-run -a -s '-screen 0 3840x2160x24' $(BENCH_BIN) $(ARGS); fi
	@$(BENCH_PANEL_BIN)
pictures: $(MO) $(OBJ)/tests/screen/test_pictures ## make the stored pictures and the README's anew; look at each
	@UNDERFOOT_PICTURES_MAKE=1 $(filter %/test_pictures,$^)

SOAK_BIN := $(OBJ)/tests/reliability/soak_run
$(eval $(call test_rule,reliability/soak_run,))
# A disc that hangs, for the load test: preloaded into the program.
STALL_LIB := $(OBJ)/tests/reliability/stall.so
$(STALL_LIB): tests/reliability/stall.c $(FLAGS)
	@mkdir -p $(@D)
	$(Q)$(CC) -std=c11 -O2 -Wall -Wextra -Werror -fPIC -shared -o $@ $<

$(eval $(call test_rule,usb/line_facts,))
# The kernel is not installed: run.sh takes one that is there, else fetches its package and unpacks it into $(BUILD)/usb.
test-usb: ## the real serial driver in a QEMU machine, the adapter unplugged in mid-run (about 2 minutes)
	$(call install_missing,$(PKGS_BUILD) $(PKGS_USB))
	@$(MAKE) --no-print-directory -j$$(nproc) all $(OBJ)/tests/usb/line_facts
	@tests/usb/run.sh $(abspath $(BIN)) $(abspath $(OBJ)/tests/usb/line_facts) $(BUILD)/usb || [ $$? -eq 77 ]

$(OBJ)/tests/aid/%.o: tests/aid/%.c $(FLAGS)
	@mkdir -p $(@D)
	$(Q)$(CC) $(CFLAGS_ALL) -Itests $(PKG_CFLAGS) -c -o $@ $<

# ---------------------------------------------------------------- fuzzing
# Each tests/fuzz/NAME.c gives one reader of foreign bytes any bytes there are (libFuzzer, with both sanitizers, and no
# double turned into an integer that cannot hold it). A build of its own, by clang, to which NAN is a float and an enum unsigned.
FUZZ_SAN   := fuzzer-no-link,address,undefined
FUZZ_OBJ   := $(BUILD)/san-$(subst $(comma),-,$(FUZZ_SAN))
FUZZ_BIN   := $(patsubst tests/%.c,$(OBJ)/tests/%,$(sort $(wildcard tests/fuzz/*.c)))
FUZZ_SEEDS := $(OBJ)/tests/fuzz/seeds/seeds
FUZZ_CFLAGS := $(if $(filter $(SAN),$(FUZZ_SAN)),-fsanitize=float-cast-overflow -fno-sanitize-recover=all -Wno-double-promotion -Wno-sign-conversion)
FUZZ_MAKE   = $(MAKE) --no-print-directory SAN=$(FUZZ_SAN) CC='$(if $(findstring ccache,$(CC)),ccache )clang' -j$$(nproc)
RUNS       ?= 3000
$(foreach t,$(FUZZ_BIN:$(OBJ)/tests/%=%),$(eval $(call test_rule,$(t),-fsanitize=fuzzer)))
$(eval $(call test_rule,fuzz/seeds/seeds,))
.PHONY: fuzz fuzz-build fuzz-seeds fuzz-built
fuzz-built: $(FUZZ_BIN)
fuzz-build:
	$(call install_missing,$(PKGS_BUILD) $(PKGS_FUZZ))
	@$(FUZZ_MAKE) -k fuzz-built

fuzz: fuzz-build ## each reader of what comes from outside with any bytes there are: SECONDS=60 each, or RUNS=3000 inputs each
	@tests/fuzz/run.sh $(FUZZ_OBJ) $(if $(filter command line environment,$(origin SECONDS)),--seconds $(SECONDS),--runs $(RUNS)) $(ARGS)

fuzz-seeds: fuzz-build $(FUZZ_SEEDS) ## the kept corpora anew: the least of seeds and of what was found that reaches as much
	@tests/fuzz/keep.sh $(FUZZ_OBJ) $(FUZZ_SEEDS)

# ---------------------------------------------------------------- firmware of a sensor board
# Three firmwares of one source: hardware/firmware, with the wire's own encoder from src/wire.
AVR_CC     ?= avr-gcc
AVR_OPT    ?= -O2 -flto
AVR_OBJ    := $(BUILD)/firmware
AVR_KINDS  := switches mat cells
AVR_FLASH  := 32256 # of 32768 bytes: 512 are left to a boot loader
AVR_RAM    := 1536  # of 2048 bytes: 512 are left to the stack
AVR_CFLAGS := -std=c11 -mmcu=atmega328p $(AVR_OPT) -g -DF_CPU=16000000UL -DPACKET_MAX_ELEMENTS=128 -D_POSIX_C_SOURCE=200809L \
              -Isrc -Ihardware -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes \
              -Wundef -Wvla -Wno-type-limits -Werror -ffunction-sections -fdata-sections -fshort-enums -MMD -MP
AVR_switches := -DMCU_BAUD=115200
AVR_mat      := -DMCU_BAUD=500000 -DMCU_IS_SWEEPING=1
AVR_cells    := -DMCU_BAUD=500000 -DMCU_IS_BURSTING=1
AVR_SRC    := wire/crc16.c wire/wire_device.c wire/wire_encode.c wire/wire_text_write.c wire/wire_cobs.c wire/wire_ask.c \
              wire/wire_binary.c firmware/station.c firmware/mcu_m328p.c firmware/main.c
AVR_ELF    := $(AVR_KINDS:%=$(AVR_OBJ)/%.elf)

firmware: $(AVR_ELF:.elf=.hex) ## firmware of the sensor boards, with the flash and RAM it takes (needs gcc-avr)
	@for k in $(AVR_KINDS); do avr-size $(AVR_OBJ)/$$k.elf | awk -v k=$$k -v f=$(AVR_FLASH) -v r=$(AVR_RAM) 'NR == 2 { \
	  printf "firmware %-9s flash %5d of %d bytes, RAM %4d of %d bytes\n", k, $$1 + $$2, f, $$2 + $$3, r; \
	  bad = $$1 + $$2 > f || $$2 + $$3 > r } END { if (bad) print "firmware " k " is too large"; exit bad }' || exit 1; done

define firmware_rule
$(AVR_OBJ)/$(1)/%.o: src/%.c
	@mkdir -p $$(@D)
	$$(call say,AVR,$$<)
	$$(Q)$$(AVR_CC) $$(AVR_CFLAGS) $$(AVR_$(1)) -c -o $$@ $$<
$(AVR_OBJ)/$(1)/firmware/%.o: hardware/firmware/%.c
	@mkdir -p $$(@D)
	$$(call say,AVR,$$<)
	$$(Q)$$(AVR_CC) $$(AVR_CFLAGS) $$(AVR_$(1)) -c -o $$@ $$<
$(AVR_OBJ)/$(1).elf: $$(AVR_SRC:%.c=$(AVR_OBJ)/$(1)/%.o) $(AVR_OBJ)/$(1)/firmware/sensor_$(1).o
	$$(Q)$$(AVR_CC) $$(AVR_CFLAGS) -Wl,--gc-sections -o $$@ $$^ -lm
$(AVR_OBJ)/$(1).hex: $(AVR_OBJ)/$(1).elf
	$$(Q)avr-objcopy -O ihex -R .eeprom $$< $$@
endef
$(foreach k,$(AVR_KINDS),$(eval $(call firmware_rule,$(k))))

# Tests of the firmware: its portable part on this computer, then the built one in a simulated processor
# (without simavr they say "skipped").
FW_TEST     := $(AVR_KINDS:%=$(OBJ)/tests/firmware/station_%) $(OBJ)/tests/firmware/test_firmware
HAS_SIMAVR  := $(wildcard /usr/include/simavr/sim_avr.h)
HAS_AVR_GCC := $(shell command -v $(AVR_CC))
FW_TEST_SRC := tests/firmware/test_firmware.c $(if $(HAS_SIMAVR),tests/firmware/avr_board.c)

$(OBJ)/tests/firmware/station_%: tests/firmware/test_station.c hardware/firmware/station.c hardware/firmware/sensor_%.c $(call archive_of,wire base)
	@mkdir -p $(@D)
	$(call say,TEST,$@)
	$(Q)$(CC) $(CFLAGS_ALL) -Ihardware $(if $(filter %_mat,$@),-DTEST_MAT) $(if $(filter %_cells,$@),-DTEST_CELLS) $(LDFLAGS_ALL) -MF $@.d -o $@ $(filter %.c %.a,$^) -lcriterion -lm

$(OBJ)/tests/firmware/test_firmware: $(FW_TEST_SRC) $(AID) $(ARCHIVES) $(if $(HAS_AVR_GCC),$(AVR_ELF))
	@mkdir -p $(@D)
	$(call say,TEST,$@)
	$(Q)$(CC) $(CFLAGS_ALL) -Itests $(if $(HAS_SIMAVR),-isystem /usr/include/simavr -DHAS_SIMAVR) -DFIRMWARE_DIR='"$(abspath $(AVR_OBJ))"' $(PKG_CFLAGS) \
	  $(LDFLAGS_ALL) -MF $@.d -o $@ $(FW_TEST_SRC) -lcriterion $(if $(HAS_SIMAVR),-lsimavr -lelf) $(call group,$(AID) $(ARCHIVES))

-include $(shell find $(AVR_OBJ) -name '*.d' 2>/dev/null)

# ---------------------------------------------------------------- run them
circles: $(ARCHIVES) $(MAIN_OBJ) ## circles of calls between the files of a folder, and callbacks that could hide one
	@/usr/bin/python3 tests/house/circles.py $(OBJ) src --callbacks

parameters: ## functions of too many parameters, and prefixes that serve two folders
	@/usr/bin/python3 tests/house/parameters.py src

layers: $(ARCHIVES) ## every include and symbol against tests/house/layers.txt; the check then tests itself
	@CC="$(CC)" /usr/bin/python3 -B tests/house/layers.py $(OBJ)

mutate: ## change lines of wire to store one by one: which do the tests not notice? (long; ARGS="--folder wire --n 40")
	@MUTATE_COMPILE='$(CC) $(CFLAGS_ALL) $(PKG_CFLAGS)' MUTATE_LIBS='$(LIBS_ALL)' nice /usr/bin/python3 -B tests/house/mutate.py $(ARGS)

hardened: $(BIN) ## is the program built against misuse of a slip? asked of the file itself, and of planted ones
	@CC="$(CC)" /usr/bin/python3 -B tests/house/hardened.py $(BIN)

house: $(ARCHIVES) $(BIN) ## lines a folder, call circles, planted violations, survivors, times of the tiers; fails beyond a limit
	@CC="$(CC)" /usr/bin/python3 -B tests/house/house.py $(OBJ) $(BIN)

# Three tiers, each holding the one before: check-quick, test (check, once all is installed), .ci/run. Each prints what
# it holds and what it took; the longest of the last run start first.
UNIT_BIN  := $(filter $(OBJ)/tests/unit/%,$(TEST_BIN))
run_tests  = UNDERFOOT_BIN=$(abspath $(BIN)) tests/run.sh --times $(OBJ)/tests/times --tier $(1) $(2)

check-quick: layers style words-check $(MO) $(UNIT_BIN) ## the first tier: layers, style and unit tests, under a minute
	@$(call run_tests,"check-quick ($(FLAVOUR)): layers$(comma) style and unit tests",$(UNIT_BIN))

check: layers style words-check $(MO) $(BIN) $(TEST_BIN) $(TEST_PLAIN_BIN) $(FW_TEST) ## build and run the tests of this flavour (SAN=address,undefined for sanitizers)
	@$(call run_tests,"test ($(FLAVOUR)): layers$(comma) style$(comma) unit$(comma) chain$(comma) screen$(comma) threads and firmware",$(TEST_BIN) $(TEST_PLAIN_BIN) $(FW_TEST))

check-threads: $(MO) $(TEST_PLAIN_BIN) ## the plain-main thread tests alone (SAN=thread)
	@UNDERFOOT_BIN=$(abspath $(BIN)) tests/run.sh --tier "check-threads ($(FLAVOUR)): threads that share data" $(TEST_PLAIN_BIN)

# What the parts need built stands here; each part is an executable of tests/reliability.
RELIABILITY_NEEDS := $(BIN) $(MO) $(addprefix $(OBJ)/tests/reliability/,disc old_store told_panel) $(SOAK_BIN) $(STALL_LIB)
COUNT ?= 200
SEED  ?= 1
run_reliability = UNDERFOOT_BIN=$(abspath $(BIN)) UNDERFOOT_OBJ=$(abspath $(OBJ)) nice /usr/bin/python3 -B tests/reliability/run.py --seed $(SEED) --parts "$(PARTS)"

$(eval $(call test_rule,reliability/old_store,))
$(OBJ)/tests/reliability/disc: tests/reliability/disc.c
	@mkdir -p $(@D)
	$(call say,TEST,$@)
	$(Q)$(CC) $(CFLAGS_ALL) $(LDFLAGS_ALL) -MF $@.d -o $@ $<

# The program's own objects, whose panel tells what stands on it.
$(OBJ)/tests/reliability/told_panel: tests/reliability/told_panel.c $(MAIN_OBJ) $(ARCHIVES)
	@mkdir -p $(@D)
	$(call say,TEST,$@)
	$(Q)$(CC) $(CFLAGS_ALL) $(PKG_CFLAGS) $(LDFLAGS_ALL) -Wl,--wrap=text_draw,--wrap=panel_draw -MF $@.d -o $@ $< $(MAIN_OBJ) $(call group,$(ARCHIVES))

reliability: $(RELIABILITY_NEEDS) ## kills, faults, power cuts and more into tests/RELIABILITY.md; PARTS="kill cut" COUNT=200 (long)
	@$(run_reliability) --count $(COUNT) --dir $(OBJ)/reliability --page tests/RELIABILITY.md

reliability-ten: $(RELIABILITY_NEEDS) ## ten of each, as .ci/run does; the page stays as it is
	@UNDERFOOT_LATE_S=$(or $(UNDERFOOT_LATE_S),4) $(run_reliability) --count 10 --dir $(OBJ)/reliability-ten

test: deps-test ## the second tier: install what is missing, build, pass the tests (some minutes)
	@$(MAKE) --no-print-directory -j$$(nproc) all firmware
	@$(MAKE) --no-print-directory -j$$(nproc) check

run: deps-run ## install what is missing, build, run the demo
	@$(MAKE) --no-print-directory -j$$(nproc) all
	@$(BUILD)/underfoot demo $(ARGS)

deps-run: ## install what the program needs
	$(call install_missing,$(PKGS_BUILD))

deps-test: ## install what the program and its tests need
	$(call install_missing,$(PKGS_BUILD) $(PKGS_TEST) $(PKGS_FIRMWARE))

# ---------------------------------------------------------------- care
style: ## the few rules of layout; the check then tests itself
	@/usr/bin/python3 -B tests/house/style.py

words: ## what the code says to people goes into every language's file; tells what lacks words
	@/usr/bin/python3 -B tests/house/words.py

words-check: ## every language has words for all that the code says; changes nothing
	@/usr/bin/python3 -B tests/house/words.py --check

lint: ## cppcheck and clang-tidy; .clang-tidy says what is asked, and why not more
	$(call install_missing,$(PKGS_BUILD) $(PKGS_LINT))
	@cppcheck --quiet --std=c11 --enable=warning,portability,performance --inline-suppr --error-exitcode=1 -j$$(nproc) -Isrc src
	@printf '%s\n' $(SRC) | xargs -P$$(nproc) -n8 sh -c 'clang-tidy --quiet "$$@" -- -std=c11 -D_POSIX_C_SOURCE=200809L -Isrc $(PKG_CFLAGS) 2>&1' sh | \
	  { grep -vE '^[0-9]+ warnings? generated\.$$' && exit 1 || echo "lint: $(words $(SRC)) files, nothing found"; }

PREFIX ?= /usr/local
install: all ## install the program, its assets and profiles under PREFIX
	install -Dm755 $(BIN) $(DESTDIR)$(PREFIX)/bin/underfoot
	cd assets && find . -type f ! -path './pictures/*' ! -path './languages/*' -exec install -Dm644 {} $(DESTDIR)$(PREFIX)/share/underfoot/assets/{} \;
	cd $(BUILD)/assets && find . -type f -exec install -Dm644 {} $(DESTDIR)$(PREFIX)/share/underfoot/assets/{} \;
	cd profiles && find . -type f -exec install -Dm644 {} $(DESTDIR)$(PREFIX)/share/underfoot/profiles/{} \;

clean: ## remove what was built
	rm -rf $(BUILD)

help: ## this list
	@sed -n 's/^\([a-z-]*\):.*## \(.*\)/  make \1\t\2/p' Makefile | expand -t 24

-include $(shell find $(OBJ) -name '*.d' 2>/dev/null)
