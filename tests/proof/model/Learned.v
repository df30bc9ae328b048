(** What follows from `Learning` for verdicts; and the order of items for the interpreter. *)

From Wherefore Require Export Learning.

Lemma tops_le l l' : each (row_tells le) l l' -> incl (tops l') (tops l).
Proof.
  intros (f & g) x hx. unfold tops in *. pose proof (surely_spec l) as hs. pose proof (surely_spec l') as hs'.
  set (surely := top (map _ l)) in *. set (surely' := top (map _ l')) in *.
  assert (K : forall m, surely = Some m -> exists m', surely' = Some m' /\ m <= m').
  { intros m e; rewrite e in hs; destruct hs as (hm & _). destruct (f _ hm) as ((t, m') & hy & en & r); simpl in *; subst m'.
    pose proof (le_T _ _ r eq_refl); simpl in *; subst t. destruct surely' as [m' |].
    - exists m'; split; auto. apply (proj2 hs' _ hy eq_refl).
    - exfalso; apply (hs' _ hy eq_refl). }
  destruct hx as [<- | hx].
  - destruct surely' as [n |]; [| destruct surely as [m |]; [destruct (K m eq_refl) as (? & ? & _); discriminate | left; reflexivity]].
    destruct hs' as (hn & hs'). destruct (g _ hn) as ((t, n') & ha & en & r); simpl in *; subst n'.
    destruct surely as [m |].
    + destruct (K m eq_refl) as (m' & e & hle); injection e as <-.
      destruct (Nat.eq_dec m n) as [-> | ne]; [left; reflexivity |]. right.
      apply in_map_iff; exists (t, n); split; auto. apply filter_In; split; auto. simpl.
      destruct r as [-> | ->]; simpl; [apply Nat.ltb_lt; lia |]. pose proof (proj2 hs _ ha eq_refl); simpl in *; lia.
    + right. apply in_map_iff; exists (t, n); split; auto. apply filter_In; split; auto. simpl.
      destruct r as [-> | ->]; [reflexivity |]. exfalso; apply (hs _ ha eq_refl).
  - right. apply in_map_iff in hx as ((u, n) & <- & hx). apply filter_In in hx as (hx & e).
    simpl in e; rewrite andb_true_iff in e; destruct e as (hu & ab).
    destruct (g _ hx) as ((t, n') & ha & en & r); simpl in *; subst n'.
    apply in_map_iff; exists (t, n); split; auto. apply filter_In; split; auto. simpl.
    replace t with U by (destruct r as [-> | ->]; destruct u; simpl in *; congruence). simpl.
    destruct surely as [m |]; auto. destruct (K m eq_refl) as (m' & e & hle); rewrite e in ab; simpl in *.
    apply Nat.ltb_lt in ab; apply Nat.ltb_lt; lia.
Qed.

Section Outlook.
Variables p q : program.
Hypothesis same : same_items p q.
Variables k k' : subject Known.
Hypothesis more : alike (A := Known) (B := Known) le wider k k'.

Let holds_le c : le (holds Known p k c) (holds Known q k' c).
Proof. apply (holds_related _ _ _ _ known_learns _ _ same _ _ more). Qed.

Lemma may_become_le o : incl (may_become q k' o) (may_become p k o).
Proof.
  unfold may_become. apply incl_map, tops_le, rows_alike; [apply filter_perm, (s_becomes _ _ same) | intros; apply holds_le].
Qed.

Lemma may_by_lines_le : incl (may_by_lines q k') (may_by_lines p k).
Proof.
  unfold may_by_lines. intros o h; apply in_flat_map in h as (n & hn & h). apply in_flat_map; exists n; split.
  - revert hn; apply tops_le, rows_alike; [apply (s_lines _ _ same) |].
    intros x; apply (line_related _ _ _ _ known_learns _ _ same _ _ more).
  - apply may_become_le, h.
Qed.

Lemma outlook_le : incl (outlook q k') (outlook p k).
Proof.
  unfold outlook. rewrite (s_force _ _ same). destruct (in_force q); cbn [negb]; [| apply incl_refl].
  pose proof (covered_related _ _ _ _ known_learns _ _ same _ _ more) as hc.
  apply incl_app_app.
  - destruct (is_T (is_covered Known p k)) eqn:E.
    + destruct (is_covered Known p k); try discriminate. rewrite (le_T _ _ hc eq_refl). apply incl_refl.
    + destruct (is_T (is_covered Known q k')); [intros ? [] | apply incl_refl].
  - destruct (is_F (is_covered Known p k)) eqn:E.
    + destruct (is_covered Known p k); try discriminate. rewrite (le_F _ _ hc eq_refl). apply incl_refl.
    + destruct (is_F (is_covered Known q k')); [intros ? [] |].
      intros o h; apply in_flat_map in h as (n & hn & h). apply in_flat_map; exists n; split.
      * revert hn; apply tops_le, rows_alike; [apply (s_left_out _ _ same) | intros; apply holds_le].
      * destruct n as [[| n] |]; auto; [apply may_become_le, h | apply may_by_lines_le, h].
Qed.
End Outlook.

(** One knows more of a vehicle than another: every fact is left no more, and something. *)
Definition knows_more (k' k : known) : Prop :=
  (forall f, narrower (k_fact k' f) (k_fact k f) = true) /\ (forall t r, k_row k' t r = k_row k t r).

(** Learning a fact never adds a vehicle, and so no verdict to the exact set. *)
Theorem learning_adds_no_vehicle p k k' v : knows_more k' k -> agrees p k' v -> agrees p k v.
Proof.
  intros (n & r) [f rows q num]; constructor; auto.
  - intros x; apply (narrower_fits _ _ _ (n x)), f.
  - intros; rewrite <- r; auto.
Qed.

Lemma known_le p way k k' : knows_more k' k ->
  alike (A := Known) (B := Known) le wider (in_known p way k) (in_known p way k').
Proof.
  intros (n & r); constructor; simpl; auto.
  - intros; right; reflexivity.
  - left; reflexivity.
  - intros _ l l' hl; apply counts_le in hl. destruct (Z.eqb_spec (perhaps_hold l) 0); [| left; reflexivity].
    right; simpl. rewrite (proj2 (Z.eqb_eq _ _)); [reflexivity |].
    assert (0 <= surely_hold l)%Z by (unfold surely_hold, number_that_hold; lia). lia.
Qed.

(** Learning a fact never adds a verdict to what the interpreter tells. *)
Theorem learning_adds_no_verdict p k k' : knows_more k' k -> incl (interpret p k') (interpret p k).
Proof.
  intros more o h. unfold interpret in *. apply in_flat_map in h as (way & hw & h).
  apply in_flat_map; exists way; split; auto. revert h. apply outlook_le; [apply same_refl | apply known_le, more].
Qed.

(** Whatever the order of a program's items, the interpreter tells the same. *)
Theorem the_interpreter_heeds_no_order p q k : same_items p q -> questions p = questions q -> knows_more k k ->
  forall o, In o (interpret p k) <-> In o (interpret q k).
Proof.
  assert (K : forall p q, same_items p q -> questions p = questions q -> knows_more k k ->
    incl (interpret q k) (interpret p k)).
  { clear p q; intros p q same e known o h. unfold interpret in *.
    replace (ways p) with (ways q) by (unfold ways, number_of_ways, all_ways, open_questions; rewrite e; reflexivity).
    apply in_flat_map in h as (way & hw & h). apply in_flat_map; exists way; split; auto.
    revert h; apply outlook_le; auto.
    replace (in_known p way k) with (in_known q way k); [apply known_le, known |].
    unfold in_known, of_known, reading; rewrite e; reflexivity. }
  intros same e known o; split; apply K; auto.
  destruct same; constructor; auto using Permutation_sym.
Qed.
