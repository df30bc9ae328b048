(** A certificate that the checker accepts is true. *)

From Wherefore Require Export Certificate.

Lemma placed_from {A} (l : list A) k n a : In (n, a) (combine (seq k (length l)) l) <-> k <= n /\ nth_error l (n - k) = Some a.
Proof.
  revert k; induction l as [| b l IH]; intros k; simpl.
  - split; [tauto |]. intros (_ & e). destruct (n - k); discriminate.
  - rewrite IH. split.
    + intros [e | (h & e)].
      * injection e as -> ->. rewrite Nat.sub_diag. split; auto.
      * split; [lia |]. replace (n - k) with (S (n - S k)) by lia. exact e.
    + intros (h & e). destruct (Nat.eq_dec n k) as [-> | ne].
      * rewrite Nat.sub_diag in e; injection e as ->. auto.
      * right; split; [lia |]. replace (n - k) with (S (n - S k)) in e by lia. exact e.
Qed.

Lemma placed_nth {A} (l : list A) n a : In (n, a) (placed l) <-> nth_error l n = Some a.
Proof. unfold placed. rewrite placed_from, Nat.sub_0_r. split; [tauto | split; [lia | tauto]]. Qed.

Lemma placed_In {A} (l : list A) a : In a l -> exists n, In (n, a) (placed l).
Proof. intros h; apply In_nth_error in h as (n & e). exists n; apply placed_nth, e. Qed.

Lemma depth_S p : exists n, depth p = S n.
Proof. exists (length (findings p) + length (limits p) + length (tables p) + 1). unfold depth; lia. Qed.

Section Certified.
Variable p : program.
Variable s : subject Checker.
Variable v : subject Vehicle.
Hypothesis both_alike : alike (A := Checker) (B := Vehicle) tells fits s v.
Hypothesis equation : solves p v (walked p v).

Let holds_here (c : condition) : bool := holds Vehicle p v c.
Let leaf (t : test) : bool := test_holds Vehicle p v (judged Vehicle p v (Nat.pred (depth p))) t.

Lemma holds_leaf c : holds_here c = joined Vehicle leaf c.
Proof. unfold holds_here, holds, leaf. destruct (depth_S p) as (n & ->). reflexivity. Qed.

Lemma leaf_sound t : tells (test_here p s t) (leaf t).
Proof.
  unfold test_here, leaf.
  apply (test_related _ _ _ _ checker_tells _ _ (same_refl p) _ _ both_alike). intros c.
  apply (judged_related _ _ _ _ checker_tells _ _ (same_refl p) _ _ both_alike).
Qed.

Lemma tells_both a b c d : tells a b -> tells c d -> tells (tv_both a c) (b && d).
Proof. intros [-> | ->] [-> | ->]; destruct b, d; unfold tells; auto. Qed.
Lemma tells_either a b c d : tells a b -> tells c d -> tells (tv_either a c) (b || d).
Proof. intros [-> | ->] [-> | ->]; destruct b, d; unfold tells; auto. Qed.

Lemma numbered_sound l c n : (forall n t, tells (l n t) (leaf t)) -> tells (fst (numbered l c n)) (joined Vehicle leaf c).
Proof.
  intros h; revert n; induction c as [cs IH | cs IH | c IH | t] using condition_deep; intros n; simpl.
  - revert n; induction IH as [| c cs hc _ IH]; intros n; simpl; [right; reflexivity |].
    specialize (hc n). destruct (numbered l c n) as (a, n').
    specialize (IH n'). destruct (_ cs n') as (b, n''). simpl in *. apply tells_both; assumption.
  - revert n; induction IH as [| c cs hc _ IH]; intros n; simpl; [right; reflexivity |].
    specialize (hc n). destruct (numbered l c n) as (a, n').
    specialize (IH n'). destruct (_ cs n') as (b, n''). simpl in *. apply tells_either; assumption.
  - specialize (IH n). destruct (numbered l c n) as (a, n'); simpl in *.
    destruct IH as [-> | ->]; [left | right]; destruct (joined Vehicle leaf c); reflexivity.
  - apply h.
Qed.

Lemma looked_sound c t : tells (looked p s c t) (holds_here c).
Proof.
  rewrite holds_leaf. apply numbered_sound. intros n u. destruct (mem n t); [apply leaf_sound | left; reflexivity].
Qed.

Lemma holds_by_true c t : holds_by p s c t = true -> holds_here c = true.
Proof. unfold holds_by; intros h. apply (tells_T _ _ (looked_sound c t)). destruct looked; try discriminate; reflexivity. Qed.
Lemma fails_by_false c t : fails_by p s c t = true -> holds_here c = false.
Proof. unfold fails_by; intros h. apply (tells_F _ _ (looked_sound c t)). destruct looked; try discriminate; reflexivity. Qed.

Lemma all_fail_false l wanted : all_fail p s l wanted = true -> forall n c, In (n, c) wanted -> holds_here c = false.
Proof.
  unfold all_fail; rewrite forallb_forall; intros h n c hc. specialize (h _ hc); simpl in h.
  destruct find_tested; [| discriminate]. apply (fails_by_false _ _ h).
Qed.

(** *** Lines *)

Let stands (i : id) : bool := walked p v i.

Fixpoint before_hold (before : list unyielding) (ways : list (id * condition)) : bool :=
  match before, ways with
  | [], [] => true
  | b :: before, (j, c) :: ways =>
      match b with
      | NotUnder t => fails_by p s c t
      | IsBlocked b =>
          match b with Blocked m _ => match line_at p m with Some (i, _) => Nat.eqb i j | None => false end end
          && blocked_holds p s b
      end && before_hold before ways
  | _, _ => false
  end.

Lemma live_eq n concerned unmet before : live_holds p s (Live n concerned unmet before) =
  match line_at p n with
  | None => false
  | Some (_, l) =>
      holds_by p s (concerns l) concerned && holds_by p s (unmet_where l) unmet && before_hold before (gives_way l)
  end.
Proof. reflexivity. Qed.

Lemma blocked_eq n r : blocked_holds p s (Blocked n r) =
  match line_at p n with
  | None => false
  | Some (_, l) =>
      match r with
      | NotConcerned t => fails_by p s (concerns l) t
      | Met t => fails_by p s (unmet_where l) t
      | SetAside (place, t) to =>
          match nth_error (gives_way l) place with
          | None => false
          | Some (j, c) =>
              holds_by p s c t
              && match to with Live m _ _ _ => match line_at p m with Some (i, _) => Nat.eqb i j | None => false end end
              && live_holds p s to
          end
      end
  end.
Proof. reflexivity. Qed.

Fixpoint live_true (x : live) : live_holds p s x = true ->
  forall i l, line_at p (line_of x) = Some (i, l) -> stands i = true
with blocked_false (b : blocked) : blocked_holds p s b = true ->
  forall i l, line_at p (line_of_blocked b) = Some (i, l) -> stands i = false.
Proof.
  - destruct x as [n tc tu before]. rewrite live_eq. intros h i l e. cbn [line_of] in e. rewrite e in h.
    rewrite !andb_true_iff in h; destruct h as ((hc & hu) & hb).
    unfold stands. rewrite (solves_lines _ _ _ equation i l) by (eapply nth_error_In, e).
    unfold unmet; cbn [both Vehicle]. fold (holds_here (concerns l)) (holds_here (unmet_where l)).
    rewrite (holds_by_true _ _ hc), (holds_by_true _ _ hu); cbn [andb]. rewrite negb_true_iff. unfold gives_way_to.
    clear e hc hu. revert hb; generalize (gives_way l).
    induction before as [| b before IH]; intros [| (j, c) ways] hb; try discriminate; auto.
    cbn [before_hold] in hb. rewrite andb_true_iff in hb; destruct hb as (hb & rest). simpl existsb. rewrite (IH _ rest), orb_false_r.
    rewrite andb_false_iff. destruct b as [t | b]; [left; apply (fails_by_false _ _ hb) | right].
    rewrite andb_true_iff in hb; destruct hb as (hj & hb).
    assert (E : exists l', line_at p (line_of_blocked b) = Some (j, l')).
    { clear - hj. destruct b as [m r]; simpl. destruct (line_at p m) as [(i', l') |]; [| discriminate].
      apply Nat.eqb_eq in hj; subst; eauto. }
    destruct E as (l' & E). apply (blocked_false b hb j l' E).
  - destruct b as [n r]. rewrite blocked_eq. intros h i l e. cbn [line_of_blocked] in e. rewrite e in h.
    unfold stands. rewrite (solves_lines _ _ _ equation i l) by (eapply nth_error_In, e).
    unfold unmet; cbn [both Vehicle]. fold (holds_here (concerns l)) (holds_here (unmet_where l)).
    destruct r as [t | t | (place, t) to].
    + rewrite (fails_by_false _ _ h); reflexivity.
    + rewrite (fails_by_false _ _ h), andb_false_r; reflexivity.
    + destruct (nth_error (gives_way l) place) as [(j, c) |] eqn:E; [| discriminate].
      rewrite !andb_true_iff in h; destruct h as ((hc & hj) & ht).
      assert (K : exists l', line_at p (line_of to) = Some (j, l')).
      { clear - hj. destruct to as [m ? ? ?]; simpl. destruct (line_at p m) as [(i', l') |]; [| discriminate].
        apply Nat.eqb_eq in hj; subst; eauto. }
      destruct K as (l' & K). pose proof (live_true to ht j l' K) as st.
      replace (gives_way_to p v (walked p v) l) with true; [apply andb_false_r |]. symmetry.
      unfold gives_way_to. apply existsb_exists. exists (j, c); split; [eapply nth_error_In, E |]. cbn [fst snd].
      fold (holds_here c). rewrite (holds_by_true _ _ hc); exact st.
Qed.

(** *** The ladder and what outcomes become *)

Lemma top_is l n : (exists x, In x l /\ fst x = true /\ snd x = n) -> (forall x, In x l -> fst x = true -> snd x <= n) ->
  top l = Some n.
Proof.
  intros (x & hx & ht & e) h. pose proof (top_spec l) as K. destruct (top l) as [m |].
  - destruct K as ((y & hy & hty & ey) & K). specialize (h y hy hty). specialize (K x hx ht). f_equal; lia.
  - rewrite (K x hx) in ht; discriminate.
Qed.
Lemma top_is_none l : (forall x, In x l -> fst x = false) -> top l = None.
Proof.
  intros h. pose proof (top_spec l) as K. destruct (top l) as [m |]; auto.
  destruct K as ((x & hx & ht & _) & _). rewrite (h x hx) in ht; discriminate.
Qed.

Lemma relabelled_true w o o' : check_relabelled p s w o = Some o' -> o' = Outcome (relabelled p v o).
Proof.
  unfold check_relabelled, relabelled.
  set (rules := filter (fun one => from (snd one) =? o) (placed (becomes p))).
  assert (In_rules : forall n r, In (n, r) rules <-> nth_error (becomes p) n = Some r /\ from r = o).
  { intros n r; unfold rules. rewrite filter_In, placed_nth, Nat.eqb_eq. reflexivity. }
  assert (all_rules : forall r, In r (filter (fun r => from r =? o) (becomes p)) -> exists n, In (n, r) rules).
  { intros r h; apply filter_In in h as (h & e). apply Nat.eqb_eq in e. apply placed_In in h as (n & h).
    exists n; apply In_rules; split; [apply placed_nth, h | exact e]. }
  destruct (relabelled_by w) as [(place, t) |].
  - destruct (find_named place rules) as [r |] eqn:E; [| discriminate]. apply find_named_In, In_rules in E as (E & e).
    destruct (holds_by p s (becomes_where r) t && _) eqn:H; [| discriminate]. intros h; injection h as <-.
    rewrite andb_true_iff in H; destruct H as (hh & hg).
    rewrite (top_is _ (to r)); auto.
    + exists (holds Vehicle p v (becomes_where r), to r). split; [| split; [apply (holds_by_true _ _ hh) | reflexivity]].
      apply in_map_iff; exists r; split; auto. apply filter_In; split; [eapply nth_error_In, E | apply Nat.eqb_eq, e].
    + intros x hx ht. apply in_map_iff in hx as (r' & <- & hr'); simpl in *. destruct (all_rules r' hr') as (n & hn).
      destruct (le_gt_dec (to r') (to r)) as [? | g]; auto. exfalso.
      fold (holds_here (becomes_where r')) in ht.
      rewrite (all_fail_false _ _ hg n (becomes_where r')) in ht; [discriminate |].
      apply in_map_iff; exists (n, r'); split; auto. apply filter_In; split; auto. simpl; apply Nat.ltb_lt; lia.
  - destruct (all_fail _ _ _ _) eqn:H; [| discriminate]. intros h; injection h as <-.
    rewrite top_is_none; auto. intros x hx. apply in_map_iff in hx as (r' & <- & hr'); simpl.
    destruct (all_rules r' hr') as (n & hn). apply (all_fail_false _ _ H n).
    apply in_map_iff; exists (n, r'); split; auto. apply filter_In; split; auto.
Qed.

Lemma lines_true w o : check_lines p s w = Some o -> o = by_lines p v.
Proof.
  unfold check_lines, by_lines.
  destruct (match deciding w with None => Some 0 | Some x => _ end) as [o' |] eqn:D; [| discriminate].
  destruct (forallb _ _) eqn:B; [| discriminate]. intros e; injection e as ->.
  rewrite forallb_forall in B.
  assert (small : forall x, In x (map (fun one : id * line => (walked p v (fst one), outcome (snd one))) (lines p)) ->
    fst x = true -> snd x <= o).
  { intros x hx ht. apply in_map_iff in hx as ((i, l) & <- & h); simpl in *. destruct (placed_In _ _ h) as (n & hn).
    specialize (B _ hn); simpl in B. apply orb_true_iff in B as [B | B]; [apply Nat.leb_le, B |]. exfalso.
    destruct (find _ (kept_out w)) as [b |] eqn:E; [| discriminate]. apply find_some in E as (_ & E); simpl in E.
    apply Nat.eqb_eq in E. pose proof (blocked_false b B i l) as K. rewrite E in K.
    specialize (K (proj1 (placed_nth _ _ _) hn)). unfold stands in K. congruence. }
  fold (walked p v). change (fun one : id * line => (any Vehicle (named (fst one) (standing Vehicle p v)), outcome (snd one)))
    with (fun one : id * line => (walked p v (fst one), outcome (snd one))).
  destruct (deciding w) as [x |].
  - destruct (line_at p (line_of x)) as [(i, l) |] eqn:E; [| discriminate].
    destruct (live_holds p s x) eqn:L; [| discriminate]. injection D as <-.
    rewrite (top_is _ (outcome l)); auto. exists (walked p v i, outcome l). repeat split.
    + apply in_map_iff; exists (i, l); split; auto. eapply nth_error_In, E.
    + apply (live_true x L i l E).
  - injection D as <-. destruct (top _) as [n |] eqn:T; auto.
    match type of T with top ?l = _ => pose proof (top_spec l) as K end.
    rewrite T in K. destruct K as ((x & hx & ht & <-) & _). specialize (small x hx ht). lia.
Qed.

Lemma covered_by_true b : covered_by p s b = true -> is_covered Vehicle p v = true.
Proof.
  unfold covered_by, is_covered. destruct nth_error as [c |] eqn:E; [| discriminate]. intros h.
  apply bool_any_true, in_map_iff. exists c; split; [apply (holds_by_true _ _ h) | eapply nth_error_In, E].
Qed.

Lemma not_left_out l : all_fail p s l (map (fun one => (fst one, left_where (snd one))) (placed (left_out p))) = true ->
  top (map (fun r => (holds Vehicle p v (left_where r), weight (left_to r))) (left_out p)) = None.
Proof.
  intros h. apply top_is_none. intros x hx. apply in_map_iff in hx as (r & <- & hr); simpl.
  destruct (placed_In _ _ hr) as (n & hn). apply (all_fail_false _ _ h n). apply in_map_iff; exists (n, r); auto.
Qed.

Lemma way_true w o : check_way p s w = Some o -> o = verdict_of p v.
Proof.
  unfold check_way, verdict_of. destruct (in_force p); simpl negb; cbn [andb].
  2: { destruct (cover w); try discriminate. intros e; injection e as <-; reflexivity. }
  destruct (cover w) as [| blocks | block row graver | block rows]; try discriminate.
  - destruct (all_fail _ _ _ _) eqn:H; [| discriminate]. intros e; injection e as <-.
    replace (is_covered Vehicle p v) with false; [reflexivity |]. symmetry. apply bool_none.
    intros b hb. apply in_map_iff in hb as (c & <- & hc). destruct (placed_In _ _ hc) as (n & hn).
    apply (all_fail_false _ _ H n c hn).
  - destruct (nth_error (left_out p) (fst row)) as [r |] eqn:E; [| discriminate].
    destruct (holds_by _ _ _ _ && _) eqn:H; [| discriminate]. rewrite andb_true_iff in H; destruct H as (hh & hg).
    rewrite (top_is _ (weight (left_to r))).
    + destruct (left_to r) as [o' |]; simpl.
      * destruct block as [block |]; [| discriminate]. destruct (covered_by p s block) eqn:C; [| discriminate].
        rewrite (covered_by_true _ C); simpl. apply relabelled_true.
      * intros e; injection e as <-. destruct (is_covered Vehicle p v); reflexivity.
    + exists (holds Vehicle p v (left_where r), weight (left_to r)). repeat split; [| apply (holds_by_true _ _ hh)].
      apply in_map_iff; exists r; split; auto. eapply nth_error_In, E.
    + intros x hx ht. apply in_map_iff in hx as (r' & <- & hr'); simpl in *. destruct (placed_In _ _ hr') as (n & hn).
      destruct (le_gt_dec (weight (left_to r')) (weight (left_to r))) as [? | g]; auto. exfalso.
      fold (holds_here (left_where r')) in ht.
      rewrite (all_fail_false _ _ hg n (left_where r')) in ht; [discriminate |].
      apply in_map_iff; exists (n, r'); split; auto. apply filter_In; split; auto. simpl; apply Nat.ltb_lt; lia.
  - destruct (covered_by p s block && _) eqn:H; [| discriminate]. rewrite andb_true_iff in H; destruct H as (hc & hr).
    rewrite (covered_by_true _ hc), (not_left_out _ hr); simpl.
    destruct (check_lines p s w) as [o' |] eqn:L; [| discriminate]. rewrite <- (lines_true _ _ L). apply relabelled_true.
Qed.
End Certified.

(** *** Ways of reading *)

Lemma every_reading_has p v asked : (forall q n taken, In (q, (n, taken)) (questions p) ->
    match taken with Some r => v_reading v q = r | None => v_reading v q < n end) ->
  every_reading p asked <> [] -> In (map (fun q => (q, v_reading v q)) asked) (every_reading p asked).
Proof.
  intros h. induction asked as [| q asked IH]; simpl; [auto |].
  destruct (find_named q (questions p)) as [(n, [taken |]) |] eqn:E; try tauto.
  intros ne. apply find_named_In in E. specialize (h _ _ _ E); simpl in h.
  apply in_flat_map; exists (v_reading v q); split; [apply in_seq; lia |]. apply in_map, IH.
  intros e. apply ne. rewrite e. clear. induction (seq 0 n); simpl; auto.
Qed.

Lemma a_way_reads p v all : (forall q n taken, In (q, (n, taken)) (questions p) ->
    match taken with Some r => v_reading v q = r | None => v_reading v q < n end) ->
  ways_are_all p all = true ->
  exists w, In w all /\ forall q r, find_named q (readings w) = Some r -> v_reading v q = r.
Proof.
  intros h. destruct all as [| first all]; [discriminate |]. cbn [ways_are_all]. cbv zeta.
  set (asked := map fst (readings first)). set (ways := first :: all).
  rewrite !andb_true_iff, !forallb_forall. intros ((hk & hw) & hl).
  assert (ne : every_reading p asked <> []) by (intros e; rewrite e in hl; discriminate).
  specialize (hw _ (every_reading_has p v asked h ne)). apply existsb_exists in hw as (w & hw & reads).
  exists w; split; auto. intros q r e. rewrite forallb_forall in reads.
  specialize (hk w hw). rewrite forallb_forall in hk. specialize (hk _ (find_named_In _ _ _ e)); simpl in hk.
  apply mem_In in hk. specialize (reads (q, v_reading v q)); simpl in reads. unfold reads_as in reads. rewrite e in reads.
  symmetry; apply Nat.eqb_eq, reads. apply in_map_iff; exists q; auto.
Qed.

Lemma checker_alike p k v way : agrees p k v -> (forall q r, find_named q way = Some r -> v_reading v q = r) ->
  alike (A := Checker) (B := Vehicle) tells fits (in_checker p way k) (of_vehicle v).
Proof.
  intros ag hw; constructor; simpl.
  - apply (agrees_facts _ _ _ ag).
  - intros q r. unfold reading. destruct (find_named q (questions p)) as [(n, [taken |]) |] eqn:E; [| | left; reflexivity].
    + apply find_named_In in E. pose proof (agrees_readings _ _ _ ag _ _ _ E) as e; simpl in e. rewrite e. right; reflexivity.
    + destruct (find_named q way) as [x |] eqn:W; [| left; reflexivity]. rewrite (hw _ _ W). right; reflexivity.
  - left; reflexivity.
  - intros slot l l' h. apply counts_of_truths in h. pose proof (agrees_numbers _ _ _ ag slot).
    destruct (perhaps_hold l =? 0)%Z eqn:E; [| left; reflexivity].
    right; simpl. apply Z.eqb_eq in E. rewrite (proj2 (Z.leb_le _ _)); [reflexivity | lia].
  - apply (agrees_rows _ _ _ ag).
Qed.

(** What the checker accepts is the verdict on every vehicle that agrees with what the certificate rests on. *)
Theorem an_accepted_certificate_is_true p rests_on c v :
  solves p (of_vehicle v) (walked p (of_vehicle v)) ->
  accepts p rests_on c = true -> agrees p rests_on v -> the_verdict p v = claims c.
Proof.
  intros sol h ag. unfold accepts in h. rewrite andb_true_iff in h; destruct h as (hw & h).
  destruct (a_way_reads p v (proofs c) (agrees_readings _ _ _ ag) hw) as (w & hin & reads).
  rewrite forallb_forall in h. specialize (h w hin).
  destruct (check_way _ _ w) as [o |] eqn:E; [| discriminate].
  apply (way_true _ _ _ (checker_alike _ _ _ _ ag reads) sol) in E. unfold the_verdict; rewrite <- E.
  destruct o, (claims c); simpl in h; try discriminate; auto. apply Nat.eqb_eq in h; congruence.
Qed.

(** The same where no ring of lines gives way to itself under any reading, and of all that is known: what a certificate rests on may
    be a part of it. *)
Corollary a_certificate_is_true p known rests_on c v :
  NoDup (map fst (lines p)) -> no_ring_under_any_reading p known = true ->
  knows_more known rests_on -> accepts p rests_on c = true -> agrees p known v -> the_verdict p v = claims c.
Proof.
  intros hn hr more h ag. eapply an_accepted_certificate_is_true; eauto using learning_adds_no_vehicle.
  apply (giving_way_has_one_solution_under_each_reading p known v hn hr ag).
Qed.
