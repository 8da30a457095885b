//! All integration tests in one program: forty programs would link the library forty times.
//!
//! `flow::every_test_file_is_in_the_program` fails when a file of this folder is not named here.

mod common;

mod bench_files;
mod bench_names;
mod boiler_limescale;
mod bottle_and_file;
mod browser;
mod browser_codes;
#[cfg(feature = "serve")]
mod browser_explore;
#[cfg(feature = "serve")]
mod browser_phones;
mod browser_print;
#[cfg(feature = "serve")]
mod browser_table;
mod browser_webkit;
mod circles;
mod closed_bottles;
mod damage;
mod dispensers;
mod everyday;
mod everyday_commands;
mod expected_orders;
mod extremes;
#[cfg(target_os = "linux")]
mod faults;
mod flight_maps;
mod flow;
mod fuzz;
mod golden;
mod guided_start;
mod hand_stocks;
mod hand_worked;
mod json_numbers;
mod laws_analysis;
mod laws_batch;
mod laws_delivery;
mod laws_entry_prompt;
mod laws_everyday;
mod laws_flight_orders;
mod laws_ladders;
mod laws_orders;
mod laws_planner;
mod laws_readings;
mod laws_reasons;
mod laws_recipes;
mod laws_scores;
mod laws_session;
mod laws_sets;
mod laws_steps;
mod laws_stocks;
mod laws_surface;
mod laws_text;
mod laws_unmeasured;
mod laws_water;
mod laws_why;
mod least_cost;
mod library_alone;
mod limescale_curves;
mod machine_cautions;
mod mistakes;
mod next_flight;
mod one_screen;
mod one_verdict;
mod oracle_draws;
mod oracle_left;
mod oracle_lp;
mod oracle_milp;
mod oracle_mixed;
mod oracle_steps;
mod oracle_stocks;
mod oracle_surface;
mod oracle_tables;
mod oracle_tasting;
mod oracle_unmeasured;
mod oracle_water;
mod packed_bench;
mod page_numbers;
mod pages;
mod paired_rounds;
mod pictures;
mod plan_verdicts;
mod plus_minus;
mod prepared_session;
mod proposed_commands;
mod reasons_as_made;
mod records_by_day;
mod repeated_readings;
mod reverse_recipes;
mod same_water;
#[cfg(feature = "serve")]
mod serve_answers;
#[cfg(feature = "serve")]
mod serve_blindness;
#[cfg(feature = "serve")]
mod serve_explore;
#[cfg(feature = "serve")]
mod serve_requests;
mod session_blindness;
mod session_families;
mod session_index;
mod session_kills;
mod session_power;
mod session_results;
mod session_table;
mod session_texts;
mod sessions;
mod shell_completion;
mod small_sessions;
mod spellings;
mod stock_records;
mod story;
mod strengths_over_time;
mod taken_back;
mod typed_input;
mod unmeasured;
mod wanted_attribute;
mod water_commands;
mod water_reports;
mod whole_sessions;
