(** Lines that give way. Which lines stand is told by an equation between them: a line stands if it is unmet and no line that it
    gives way to stands. Where no ring of lines gives way to itself there is one solution, and the walk finds it. *)

From Wherefore Require Export Order.

Section Ring.
Variable p : program.
Variable v : subject Vehicle.

Let holds_here : condition -> bool := holds Vehicle p v.

(** One that solves the equation: of lines that are not in the program nothing stands. *)
Definition gives_way_to (s : id -> bool) (l : line) : bool :=
  existsb (fun way => holds_here (snd way) && s (fst way)) (gives_way l).
Record solves (s : id -> bool) : Prop := {
  solves_lines : forall i l, In (i, l) (lines p) -> s i = unmet Vehicle p v l && negb (gives_way_to s l);
  solves_rest : forall i, ~ In i (map fst (lines p)) -> s i = false
}.

(** No ring: lines can be ranked so that each gives way to lower ones only. *)
Definition ranked (rank : id -> nat) : Prop :=
  forall i l j c, In (i, l) (lines p) -> In (j, c) (gives_way l) -> holds_here c = true -> In j (map fst (lines p)) ->
    rank j < rank i.

Definition walked (i : id) : bool := any Vehicle (named i (standing Vehicle p v)).

Hypothesis one_name : NoDup (map fst (lines p)).

Lemma existsb_ext_in {A} (f g : A -> bool) l : (forall a, In a l -> f a = g a) -> existsb f l = existsb g l.
Proof. induction l; simpl; auto; intros h. rewrite h, IHl; auto. Qed.

Lemma one_solution rank s s' : ranked rank -> solves s -> solves s' -> forall i, s i = s' i.
Proof.
  intros hr (h & hn) (h' & hn').
  assert (K : forall n i, rank i < n -> s i = s' i).
  { induction n as [| n IH]; intros i hi; [lia |].
    destruct (in_dec Nat.eq_dec i (map fst (lines p))) as [hin | hout]; [| rewrite hn, hn'; auto].
    apply in_map_iff in hin as ((i', l) & e & hin); simpl in e; subst i'.
    rewrite (h _ _ hin), (h' _ _ hin). do 2 f_equal. unfold gives_way_to. apply existsb_ext_in.
    intros (j, c) hw; simpl. destruct (holds_here c) eqn:E; simpl; auto.
    destruct (in_dec Nat.eq_dec j (map fst (lines p))) as [hj | hj]; [| rewrite hn, hn'; auto].
    apply IH. specialize (hr _ _ _ _ hin hw E hj). lia. }
  intros i; apply (K (S (rank i))); lia.
Qed.

(** *** The walk finds it *)

Lemma any_exists (l : list bool) : any Vehicle l = existsb (fun b => b) l.
Proof. unfold any; induction l as [| a l IH]; simpl; auto. Qed.

Lemma stands_next_exists st u ways :
  stands_next Vehicle st (u, map (fun way : id * condition => (fst way, holds Vehicle p v (snd way))) ways) =
  u && negb (existsb (fun way => holds_here (snd way) && any Vehicle (named (fst way) st)) ways).
Proof.
  unfold stands_next; cbn [fst snd both neg Vehicle]. f_equal. f_equal. rewrite any_exists, map_map.
  induction ways as [| w ways IH]; simpl; auto. f_equal; auto.
Qed.

Lemma named_one {A} i (a : A) l : NoDup (map fst l) -> In (i, a) l -> named i l = [a].
Proof.
  induction l as [| (j, b) l IH]; simpl; [tauto |]. intros hn [e | h]; inversion hn as [| ? ? hj hn']; subst.
  - injection e as -> ->. unfold named; simpl. rewrite Nat.eqb_refl; simpl. f_equal.
    assert (K : forall m, ~ In i (map fst m) -> map snd (filter (fun one : id * A => Nat.eqb i (fst one)) m) = []).
    { induction m as [| (k, d) m IHm]; simpl; auto. intros hk. destruct (Nat.eqb_spec i k); [subst; tauto | apply IHm; tauto]. }
    apply K, hj.
  - unfold named; simpl. destruct (Nat.eqb_spec i j).
    + subst j. exfalso; apply hj. apply in_map_iff; exists (i, a); auto.
    + apply IH; auto.
Qed.

Lemma named_none {A} i (l : list (id * A)) : ~ In i (map fst l) -> named i l = [].
Proof.
  unfold named; induction l as [| (k, d) l IH]; simpl; auto. intros h.
  destruct (Nat.eqb_spec i k); [subst; tauto | apply IH; tauto].
Qed.

Definition at_round (n : nat) (i : id) : bool := any Vehicle (named i (rounds Vehicle n (the_scene Vehicle p v))).

Lemma scene_names n : map fst (rounds Vehicle n (the_scene Vehicle p v)) = map fst (lines p).
Proof. destruct n; simpl; unfold next, the_scene; rewrite !map_map; simpl; reflexivity. Qed.

Lemma round_rest n i : ~ In i (map fst (lines p)) -> at_round n i = false.
Proof. intros h; unfold at_round. rewrite named_none; [reflexivity | rewrite scene_names; exact h]. Qed.

Lemma round_step n i l : In (i, l) (lines p) ->
  at_round (S n) i = unmet Vehicle p v l && negb (gives_way_to (at_round n) l).
Proof.
  intros h. unfold at_round at 1.
  rewrite (named_one i (stands_next Vehicle (rounds Vehicle n (the_scene Vehicle p v))
    (unmet Vehicle p v l, map (fun way => (fst way, holds Vehicle p v (snd way))) (gives_way l)))).
  - rewrite any_exists; simpl. rewrite orb_false_r. apply stands_next_exists.
  - rewrite scene_names; exact one_name.
  - simpl. unfold next. apply in_map_iff.
    exists (i, (unmet Vehicle p v l, map (fun way => (fst way, holds Vehicle p v (snd way))) (gives_way l))).
    split; [reflexivity |]. unfold the_scene. apply in_map_iff. exists (i, l); auto.
Qed.

(** The rank below which the walk has settled after so many rounds. *)
Lemma settled rank : ranked rank -> forall n m i, rank i < n -> n <= m -> at_round n i = at_round m i.
Proof.
  intros hr; induction n as [| n IH]; intros m i hi hm; [lia |]. destruct m as [| m]; [lia |].
  destruct (in_dec Nat.eq_dec i (map fst (lines p))) as [hin | hout]; [| rewrite !round_rest; auto].
  apply in_map_iff in hin as ((i', l) & e & hin); simpl in e; subst i'.
  rewrite (round_step n i l hin), (round_step m i l hin). do 2 f_equal. unfold gives_way_to. apply existsb_ext_in.
  intros (j, c) hw; simpl. destruct (holds_here c) eqn:E; simpl; auto.
  destruct (in_dec Nat.eq_dec j (map fst (lines p))) as [hj | hj]; [| rewrite !round_rest; auto].
  specialize (hr _ _ _ _ hin hw E hj). apply IH; lia.
Qed.

Lemma walked_solves rank : ranked rank -> (forall i, rank i < length (lines p)) -> solves walked.
Proof.
  intros hr small. unfold walked. constructor.
  - intros i l h. change (at_round (S (length (lines p))) i = unmet Vehicle p v l && negb (gives_way_to (at_round (S (length (lines p)))) l)).
    rewrite (round_step _ _ _ h). do 2 f_equal. unfold gives_way_to. apply existsb_ext_in. intros (j, c) hw; simpl.
    f_equal. apply (settled rank hr); [apply small | lia].
  - intros i h; apply (round_rest (S (length (lines p)))), h.
Qed.
End Ring.

(** ** The check: peel off, again and again, the lines that give way to none that is left *)

Definition ways_of (p : program) : list (id * list id) := map (fun one => (fst one, map fst (gives_way (snd one)))) (lines p).
Definition leads_on (left : list (id * list id)) (one : id * list id) : bool :=
  existsb (fun j => mem j (map fst left)) (snd one).
Fixpoint peeled (n : nat) (ways : list (id * list id)) : list (id * list id) :=
  match n with 0 => ways | S n => let left := peeled n ways in filter (leads_on left) left end.
Definition no_ring (ways : list (id * list id)) : bool := is_empty (peeled (length ways) ways).

(** How many rounds of peeling a line stays, out of those up to [n]. *)
Fixpoint stays (n : nat) (ways : list (id * list id)) (i : id) : nat :=
  match n with 0 => 0 | S m => if mem i (map fst (peeled n ways)) then n else stays m ways i end.

Lemma peeled_shrinks n ways one : In one (peeled (S n) ways) -> In one (peeled n ways).
Proof. simpl; intros h; apply filter_In in h; tauto. Qed.
Lemma peeled_down n m ways one : n <= m -> In one (peeled m ways) -> In one (peeled n ways).
Proof. induction 1; auto. intros h; apply IHle, peeled_shrinks, h. Qed.

Lemma stays_spec n ways i : forall k, k <= n -> In i (map fst (peeled k ways)) -> k <= stays n ways i.
Proof.
  induction n as [| n IH]; intros k hk h; simpl; [lia |].
  destruct (mem i (map fst (filter (leads_on (peeled n ways)) (peeled n ways)))) eqn:E; [lia |].
  apply IH; auto. destruct (Nat.eq_dec k (S n)) as [-> | ]; [| lia].
  exfalso. apply mem_In in h. simpl in h. congruence.
Qed.

Lemma stays_at n ways i : In i (map fst ways) -> In i (map fst (peeled (stays n ways i) ways)).
Proof.
  intros h; induction n as [| n IH]; simpl; auto.
  destruct (mem i (map fst (filter (leads_on (peeled n ways)) (peeled n ways)))) eqn:E; auto. apply mem_In in E. exact E.
Qed.

Lemma stays_small n ways i : stays n ways i <= n.
Proof. induction n as [| n IH]; simpl; auto. destruct mem; lia. Qed.

(** The ways that count: at least those whose condition holds. *)
Definition holds_all_ways (p : program) (v : subject Vehicle) (ways : list (id * list id)) : Prop :=
  map fst ways = map fst (lines p) /\
  forall i l j c, In (i, l) (lines p) -> In (j, c) (gives_way l) -> holds Vehicle p v c = true ->
    exists js, In (i, js) ways /\ In j js.

Lemma no_ring_ranks p v ways : holds_all_ways p v ways -> no_ring ways = true ->
  exists rank, ranked p v rank /\ forall i, rank i < length (lines p) \/ lines p = [].
Proof.
  intros (names & enough) h. set (n := length ways).
  assert (empty : peeled n ways = []) by (unfold no_ring in h; fold n in h; destruct (peeled n ways); [reflexivity | discriminate]).
  assert (hlen : n = length (lines p)) by (unfold n; rewrite <- (map_length fst ways), names; apply map_length).
  exists (stays n ways). split.
  - intros i l j c hi hw hc hj.
    assert (hj' : In j (map fst ways)) by (rewrite names; exact hj).
    pose proof (stays_at n ways j hj') as at_j. set (r := stays n ways j) in *.
    destruct (enough i l j c hi hw hc) as (js & hi' & hjs).
    assert (r < n).
    { destruct (Nat.eq_dec r n) as [e | ]; [| pose proof (stays_small n ways j); unfold r in *; lia].
      rewrite e, empty in at_j; destruct at_j. }
    assert (down : forall k, k <= S r -> In (i, js) (peeled k ways)).
    { induction k as [| k IH]; intros hk; simpl; [exact hi' |]. apply filter_In; split; [apply IH; lia |].
      apply existsb_exists. exists j; split; [exact hjs |]. apply mem_In.
      apply in_map_iff in at_j as (one & e & hone). apply in_map_iff; exists one; split; auto.
      apply (peeled_down k r); [lia | exact hone]. }
    assert (S r <= stays n ways i); [| lia].
    apply stays_spec; [lia |]. apply in_map_iff; exists (i, js); split; auto.
  - intros i. destruct (lines p) as [| one rest] eqn:E; [right; reflexivity | left]. rewrite <- hlen.
    destruct (Nat.eq_dec (stays n ways i) n) as [e | ]; [| pose proof (stays_small n ways i); lia].
    destruct (in_dec Nat.eq_dec i (map fst ways)) as [hin | hout].
    + pose proof (stays_at n ways i hin) as K. rewrite e, empty in K; destruct K.
    + assert (K : forall m, stays m ways i = 0).
      { induction m as [| m IH]; simpl; auto.
        destruct (mem i (map fst (filter (leads_on (peeled m ways)) (peeled m ways)))) eqn:M; auto. exfalso; apply hout.
        apply mem_In, in_map_iff in M as (x & <- & hx). apply in_map. apply (peeled_down 0 (S m)); [lia | exact hx]. }
      rewrite K. simpl in hlen; lia.
Qed.

Lemma no_ring_solves p v ways : NoDup (map fst (lines p)) -> holds_all_ways p v ways -> no_ring ways = true ->
  solves p v (walked p v) /\ (forall s, solves p v s -> forall i, s i = walked p v i).
Proof.
  intros hn hw h. destruct (no_ring_ranks p v ways hw h) as (rank & hr & small).
  assert (K : solves p v (walked p v)).
  { destruct (lines p) as [| one rest] eqn:E.
    - constructor; rewrite E; [intros ? ? [] |]. intros i _. unfold walked, standing, the_scene. rewrite E. reflexivity.
    - apply (walked_solves p v ltac:(rewrite E; exact hn) rank hr). intros i.
      destruct (small i) as [? | ?]; [rewrite E | rewrite E in *; discriminate]; auto. }
  split; auto. intros s hs. apply (one_solution p v rank); auto.
Qed.

(** Giving way has one solution where no ring of lines gives way to itself: the walk's. *)
Theorem giving_way_has_one_solution p v : NoDup (map fst (lines p)) -> no_ring (ways_of p) = true ->
  solves p v (walked p v) /\ (forall s, solves p v s -> forall i, s i = walked p v i).
Proof.
  intros hn. apply no_ring_solves; auto. unfold ways_of. split; [rewrite map_map; reflexivity |].
  intros i l j c hi hw _. exists (map fst (gives_way l)). split; apply in_map_iff; [exists (i, l) | exists (j, c)]; auto.
Qed.

(** Under each way of reading the open questions, the ways that may count. *)
Definition ways_under (p : program) (s : subject Known) : list (id * list id) :=
  map (fun one => (fst one, map fst (filter (fun way => negb (is_F (holds Known p s (snd way)))) (gives_way (snd one))))) (lines p).
Definition no_ring_under_any_reading (p : program) (k : known) : bool :=
  forallb (fun way => no_ring (ways_under p (in_known p way k))) (all_ways p).

(** Lines may give way in a ring over all readings together; it is enough that they do under none. *)
Theorem giving_way_has_one_solution_under_each_reading p k v : NoDup (map fst (lines p)) ->
  no_ring_under_any_reading p k = true -> agrees p k v ->
  solves p (of_vehicle v) (walked p (of_vehicle v)) /\
  (forall s, solves p (of_vehicle v) s -> forall i, s i = walked p (of_vehicle v) i).
Proof.
  intros hn h ag. unfold no_ring_under_any_reading in h. rewrite forallb_forall in h.
  apply (no_ring_solves p (of_vehicle v) (ways_under p (in_known p (way_of p v) k)) hn); [| apply h; eapply way_in; eauto].
  unfold ways_under. split; [rewrite map_map; reflexivity |]. intros i l j c hi hw hc.
  eexists; split; [apply in_map_iff; exists (i, l); split; [reflexivity | exact hi] |]. cbn [snd].
  apply in_map_iff; exists (j, c); split; auto. apply filter_In; split; auto. cbn [snd].
  assert (al : alike (A := Known) (B := Vehicle) tells fits (in_known p (way_of p v) k) (of_vehicle v))
    by (apply known_alike; simpl; auto).
  pose proof (holds_related _ _ _ _ known_tells _ _ (same_refl p) _ _ al c) as t.
  destruct (holds Known p (in_known p (way_of p v) k) c); auto.
  rewrite (tells_F _ _ t eq_refl) in hc; discriminate.
Qed.
