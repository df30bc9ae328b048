(** What each theorem rests on. Each must say *Closed under the global context*: on nothing but Coq itself. *)

From Wherefore Require Import Bound Order Learned GivingWay Ring Selection Facts Certified Depth.

Print Assumptions the_interpreter_leaves_no_verdict_out.
Print Assumptions a_single_verdict_is_the_verdict.
Print Assumptions the_order_of_items_is_meaningless.
Print Assumptions learning_adds_no_vehicle.
Print Assumptions learning_adds_no_verdict.
Print Assumptions the_interpreter_heeds_no_order.
Print Assumptions giving_way_has_one_solution.
Print Assumptions giving_way_has_one_solution_under_each_reading.
Print Assumptions what_is_refused_has_not_one_solution.
Print Assumptions the_order_of_blocks_is_meaningless.
Print Assumptions within_an_epoch_the_law_is_the_same.
Print Assumptions no_draft_stands_unasked.
Print Assumptions variants_that_stand_are_of_one_rank.
Print Assumptions a_test_of_age_is_a_test_of_the_model_year.
Print Assumptions a_test_of_parity_is_a_test_of_the_model_year.
Print Assumptions narrowing_loses_no_vehicle.
Print Assumptions a_contradiction_is_no_vehicle.
Print Assumptions a_presumption_only_narrows.
Print Assumptions an_accepted_certificate_is_true.
Print Assumptions a_certificate_is_true.
Print Assumptions more_depth_changes_no_meaning.
Print Assumptions more_depth_tells_no_more.
