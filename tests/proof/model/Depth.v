(** Conditions lead to others, and the walk follows them a fixed number of steps. Where that is enough (and the check says so) going
    deeper changes nothing: what a condition means does not depend on the number. *)

From Wherefore Require Export Order.
From Coq Require Import Lia.

Section Depth.
Variable p : program.

Fixpoint tests_of (c : condition) : list test :=
  match c with All l | Any l => flat_map tests_of l | Not c => tests_of c | Test t => [t] end.

(** The conditions that a test leads to. *)
Definition rows_of (table : id) : list condition := map row_where (named table (tables p)).
Definition used_by_count : list condition :=
  map counts_where (counts p)
  ++ flat_map (fun e => excuse_where e :: match which e with OfTable t => rows_of t | _ => [] end) (excuses p).
Definition used (t : test) : list condition :=
  match t with
  | Finding n => named n (findings p)
  | Listed t | CodesOfTable _ _ t => rows_of t
  | Limit n _ => map limit_where (named n (limits p)) ++ used_by_count
  | Count _ _ | NotMoreIncomplete _ => used_by_count
  | _ => []
  end.

(** So many steps are enough. *)
Fixpoint fits_in (n : nat) (c : condition) : bool :=
  forallb (fun t => match n with 0 => is_empty (used t) | S n => forallb (fits_in n) (used t) end) (tests_of c).

Variable L : logic.
Variable v : subject L.
(** A list of codes is asked code by code. *)
Hypothesis codes_ext : forall f h x x' some every, (forall c, x c = x' c) ->
  has_codes L f h x some every = has_codes L f h x' some every.

Section Same.
Variables j j' : condition -> truth L.

Lemma same_rows table l : (forall r, In r l -> j (row_where r) = j' (row_where r)) ->
  map (row_holds L v j table) l = map (row_holds L v j' table) l.
Proof. intros h. apply map_ext_in. intros r hr. unfold row_holds. destruct (presumed_row v table (row_id r)); auto. Qed.

Lemma row_used table r : (forall c, In c (rows_of table) -> j c = j' c) -> In r (named table (tables p)) ->
  j (row_where r) = j' (row_where r).
Proof. intros h hr; apply h, in_map, hr. Qed.

Lemma same_count : (forall c, In c used_by_count -> j c = j' c) ->
  forall states m, counted_in L p v j states m = counted_in L p v j' states m.
Proof.
  intros h states m.
  assert (rules : forall r, In r (rules_of p m) -> j (counts_where r) = j' (counts_where r)).
  { intros r hr. apply filter_In in hr as (hr & _). apply h. unfold used_by_count. apply in_or_app; left. apply in_map, hr. }
  unfold counted_in, is_counted, counts_as_incomplete.
  rewrite (map_ext_in _ (fun r => j' (counts_where r)) _ rules).
  rewrite (map_ext_in (fun r => j (counts_where r)) (fun r => j' (counts_where r)) (filter as_incomplete (rules_of p m)))
    by (intros r hr; apply filter_In in hr as (hr & _); auto).
  replace (map (is_excused L p v j m) (excuses p)) with (map (is_excused L p v j' m) (excuses p)); [reflexivity |].
  apply map_ext_in. intros e he. symmetry. unfold is_excused.
  assert (K : forall c, In c (excuse_where e :: match which e with OfTable t => rows_of t | _ => [] end) -> j c = j' c).
  { intros c hc. apply h. unfold used_by_count. apply in_or_app; right. apply in_flat_map; exists e; auto. }
  rewrite (K (excuse_where e)) by (left; reflexivity). destruct (which e) as [l | f | t]; auto. do 2 f_equal.
  apply same_rows. intros r hr. apply filter_In in hr as (hr & _). apply (row_used t); auto.
  intros c hc; apply K; right; exact hc.
Qed.

Lemma same_count_of states : (forall c, In c used_by_count -> j c = j' c) ->
  count_of L p v j states = count_of L p v j' states.
Proof. intros h. apply map_ext. intros m; apply same_count, h. Qed.

Lemma same_test t : (forall c, In c (used t) -> j c = j' c) -> test_holds L p v j t = test_holds L p v j' t.
Proof.
  intros e; destruct t; simpl in *; auto.
  - assert (K : forall l : list row, (forall r, In r l -> In r (named table (tables p))) ->
      map (row_holds L v j table) l = map (row_holds L v j' table) l).
    { intros l sub. apply same_rows. intros r hr. apply (row_used table); auto. }
    rewrite (K (filter _ _)) by (intros r hr; apply filter_In in hr; tauto).
    apply codes_ext. intros c. f_equal. apply K. intros r hr. apply filter_In in hr as (hr & _). apply filter_In in hr; tauto.
  - rewrite (same_count_of states e); reflexivity.
  - rewrite (same_count_of [incomplete] e); reflexivity.
  - unfold limit_holds. f_equal. apply map_ext_in. intros r hr.
    rewrite (e (limit_where r)) by (apply in_or_app; left; apply in_map, hr).
    assert (ec : forall c, In c used_by_count -> j c = j' c) by (intros c hc; apply e, in_or_app; right; exact hc).
    assert (E : row_allows L p v j r = row_allows L p v j' r); [| rewrite E; reflexivity].
    unfold row_allows. destruct (allows r) as [n [l |] | n | slot]; rewrite ?(same_count_of _ ec); auto.
    rewrite (map_ext _ _ (same_count ec [incomplete])); reflexivity.
  - f_equal. apply map_ext_in. exact e.
  - f_equal. apply same_rows. intros r hr. apply (row_used table); auto.
Qed.
End Same.

Lemma joined_ext leaf leaf' c : (forall t, In t (tests_of c) -> leaf t = leaf' t) -> joined L leaf c = joined L leaf' c.
Proof.
  induction c as [cs IH | cs IH | c IH | t] using condition_deep; simpl; intros h.
  - f_equal. rewrite Forall_forall in IH. apply map_ext_in. intros c hc. apply IH; auto. intros t ht. apply h, in_flat_map; eauto.
  - f_equal. rewrite Forall_forall in IH. apply map_ext_in. intros c hc. apply IH; auto. intros t ht. apply h, in_flat_map; eauto.
  - rewrite IH; auto.
  - auto.
Qed.

Lemma deeper n : forall m c, n <= m -> fits_in n c = true -> judged L p v m c = judged L p v n c.
Proof.
  induction n as [| n IH]; intros m c hm h; simpl in h; rewrite forallb_forall in h.
  - destruct m; simpl; apply joined_ext; intros t ht; apply same_test; intros d hd; specialize (h t ht);
      destruct (used t); try discriminate; destruct hd.
  - destruct m as [| m]; [lia |]. simpl. apply joined_ext; intros t ht; apply same_test; intros d hd.
    specialize (h t ht). rewrite forallb_forall in h. apply IH; [lia | auto].
Qed.
End Depth.

(** Where so many steps are enough, more change nothing: of a vehicle, and of what is known of one. *)
Theorem more_depth_changes_no_meaning p v n m c : n <= m -> fits_in p n c = true ->
  judged Vehicle p v m c = judged Vehicle p v n c.
Proof.
  apply deeper. intros f h x x' some every e. simpl. destruct f; auto. destruct h.
  - induction l as [| d l IH]; simpl; auto. rewrite e, IH; reflexivity.
  - f_equal. induction l as [| d l IH]; simpl; auto. rewrite e, IH; reflexivity.
  - induction l as [| d l IH]; simpl; auto. rewrite e, IH; reflexivity.
Qed.

Theorem more_depth_tells_no_more p k n m c : n <= m -> fits_in p n c = true ->
  judged Known p k m c = judged Known p k n c.
Proof. apply deeper. intros f h x x' some every e. apply same_codes, e. Qed.

(** The check: the depth of a program is enough for each of its conditions. *)
Definition all_conditions (p : program) : list condition :=
  covers p ++ map left_where (left_out p) ++ map becomes_where (becomes p)
  ++ flat_map (fun one => concerns (snd one) :: unmet_where (snd one) :: map snd (gives_way (snd one))) (lines p).
Definition deep_enough (p : program) : bool := forallb (fits_in p (depth p)) (all_conditions p).
