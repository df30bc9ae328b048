(** The check that refuses rings of lines is exactly what guarantees one solution: wherever it finds a ring, there are vehicles (a
    pattern of unmet lines) for which the equation has no solution at all, or two. *)

From Wherefore Require Export GivingWay.

Section Ring.
Variable ways : list (id * list id).
Hypothesis one_name : NoDup (map fst ways).

(** Which lines stand, where these are unmet. *)
Record settles (unmet s : id -> bool) : Prop := {
  settles_lines : forall i js, In (i, js) ways -> s i = unmet i && negb (existsb s js);
  settles_rest : forall i, ~ In i (map fst ways) -> s i = false
}.

Definition edge (i j : id) : Prop := exists js, In (i, js) ways /\ In j js.
Definition edgeb (i j : id) : bool := match find_named i ways with Some js => mem j js | None => false end.

Lemma same_ways i js js' : In (i, js) ways -> In (i, js') ways -> js = js'.
Proof.
  intros h h'. assert (e : [js] = [js']); [| congruence].
  rewrite <- (named_one i js ways one_name h). apply (named_one i js' ways one_name h').
Qed.

Lemma edgeb_edge i j : edgeb i j = true <-> edge i j.
Proof.
  unfold edgeb, edge; split.
  - destruct (find_named i ways) as [js |] eqn:E; [| discriminate]. intros h. exists js; split; [apply find_named_In, E | apply mem_In, h].
  - intros (js & h & hj). destruct (find_named i ways) as [js' |] eqn:E.
    + apply find_named_In in E. rewrite (same_ways _ _ _ E h). apply mem_In, hj.
    + unfold find_named in E. rewrite (named_one i js ways one_name h) in E; discriminate.
Qed.

(** A closed walk of [m] steps. *)
Record closed (m : nat) (w : nat -> id) : Prop := {
  some_steps : 0 < m;
  steps : forall k, k < m -> edge (w k) (w (S k));
  back : w m = w 0
}.

(** No way but along it. *)
Definition follows (m i j : nat) : bool := Nat.eqb j (S i) || (Nat.eqb j 0 && Nat.eqb (S i) m).
Definition chordless (m : nat) (w : nat -> id) : bool :=
  forallb (fun i => forallb (fun j => negb (edgeb (w i) (w j)) || follows m i j) (seq 0 m)) (seq 0 m).

Lemma not_all {A} (f : A -> bool) l : forallb f l = false -> exists a, In a l /\ f a = false.
Proof.
  induction l as [| a l IH]; simpl; [discriminate |]. destruct (f a) eqn:E; simpl; [| eauto].
  intros h. destruct (IH h) as (b & hb & e); eauto.
Qed.

Lemma a_shorter_one m w : closed m w -> chordless m w = false -> exists m' w', m' < m /\ closed m' w'.
Proof.
  intros [pos st bk] h. unfold chordless in h. apply not_all in h as (i & hi & h). apply not_all in h as (j & hj & h).
  apply in_seq in hi, hj. rewrite orb_false_iff, negb_false_iff, edgeb_edge in h. destruct h as (e & h).
  unfold follows in h. rewrite orb_false_iff, andb_false_iff, !Nat.eqb_neq in h. destruct h as (n1 & n2).
  destruct (le_gt_dec j i) as [hle | hgt].
  - exists (S (i - j)), (fun k => if k =? S (i - j) then w j else w (j + k)). split; [lia |]. constructor; [lia | |].
    + intros k hk. destruct (Nat.eqb_spec k (S (i - j))); [lia |]. destruct (Nat.eqb_spec (S k) (S (i - j))).
      * replace (j + k) with i by lia. exact e.
      * replace (j + S k) with (S (j + k)) by lia. apply st; lia.
    + rewrite Nat.eqb_refl. simpl. rewrite Nat.add_0_r; reflexivity.
  - exists (m - (j - i - 1)), (fun k => if k <=? i then w k else w (k + (j - i - 1))). split; [lia |]. constructor; [lia | |].
    + intros k hk. destruct (Nat.leb_spec k i), (Nat.leb_spec (S k) i); try lia.
      * apply st; lia.
      * replace k with i by lia. replace (S i + (j - i - 1)) with j by lia. exact e.
      * apply st; lia.
    + destruct (Nat.leb_spec (m - (j - i - 1)) i); [lia |]. simpl. rewrite <- bk. f_equal; lia.
Qed.

Lemma a_chordless_one m w : closed m w -> exists m' w', closed m' w' /\ chordless m' w' = true.
Proof.
  revert w; induction m as [m IH] using (well_founded_induction lt_wf). intros w h.
  destruct (chordless m w) eqn:E; eauto. destruct (a_shorter_one m w h E) as (m' & w' & hlt & h'). apply (IH m' hlt w' h').
Qed.

(** On a chordless ring whose lines alone are unmet, a solution turned round is another. *)
Lemma on_a_ring_no_solution_is_the_only_one m w : closed m w -> exists unmet, forall s, settles unmet s ->
  exists s' i, settles unmet s' /\ s' i <> s i.
Proof.
  intros h. destruct (a_chordless_one m w h) as (n & x & [pos st bk] & chord). clear m w h.
  set (on := fun i => mem i (map x (seq 0 n))).
  assert (on_spec : forall i, on i = true <-> exists k, k < n /\ x k = i).
  { intros i; unfold on. rewrite mem_In, in_map_iff. split; intros (k & a & b); exists k; split; auto; [apply in_seq in b; lia | apply in_seq; lia]. }
  exists on. intros s [sl sr]. exists (fun i => on i && negb (s i)), (x 0).
  assert (off : forall j, on j = false -> s j = false).
  { intros j hj. destruct (in_dec Nat.eq_dec j (map fst ways)) as [hin | hout]; [| auto].
    apply in_map_iff in hin as ((j', js) & e & hin); simpl in e; subst j'. rewrite (sl _ _ hin), hj; reflexivity. }
  assert (next_on : forall k, k < n -> on (x (S k)) = true).
  { intros k hk. apply on_spec. destruct (Nat.eq_dec (S k) n) as [e | ne]; [exists 0; rewrite e, bk; auto | exists (S k); split; auto; lia]. }
  assert (only : forall k js j, k < n -> In (x k, js) ways -> In j js -> on j = true -> j = x (S k)).
  { intros k js j hk hw hj ho. apply on_spec in ho as (l & hl & <-). unfold chordless in chord.
    assert (hk' : In k (seq 0 n)) by (apply in_seq; lia). assert (hl' : In l (seq 0 n)) by (apply in_seq; lia).
    rewrite forallb_forall in chord. specialize (chord k hk').
    rewrite forallb_forall in chord. specialize (chord l hl').
    rewrite (proj2 (edgeb_edge (x k) (x l))) in chord by (exists js; auto). simpl in chord. unfold follows in chord.
    apply orb_true_iff in chord as [e | e]; [apply Nat.eqb_eq in e; congruence |].
    rewrite andb_true_iff, !Nat.eqb_eq in e. destruct e as (-> & ->). congruence. }
  assert (one : forall (t : id -> bool) k js, k < n -> In (x k, js) ways -> (forall j, on j = false -> t j = false) ->
    existsb t js = t (x (S k))).
  { intros t k js hk hw ht. destruct (t (x (S k))) eqn:E.
    - apply existsb_exists. destruct (st k hk) as (js' & hw' & hj). rewrite (same_ways _ _ _ hw hw'). eauto.
    - destruct (existsb t js) eqn:X; auto. apply existsb_exists in X as (j & hj & tj).
      destruct (on j) eqn:O; [rewrite (only k js j hk hw hj O) in tj; congruence | rewrite (ht j O) in tj; discriminate]. }
  split.
  - constructor.
    + intros i js hw. destruct (on i) eqn:O; simpl; auto. apply on_spec in O as (k & hk & <-).
      rewrite (one _ k js hk hw) by (intros j hj; rewrite hj; reflexivity).
      rewrite (sl _ _ hw). rewrite (one s k js hk hw off), (next_on k hk), (proj2 (on_spec (x k)) ltac:(eauto)); simpl.
      destruct (s (x (S k))); reflexivity.
    + intros i hi. destruct (on i) eqn:O; auto. exfalso. apply on_spec in O as (k & hk & <-).
      destruct (st k hk) as (js & hw & _). apply hi. apply in_map_iff; exists (x k, js); auto.
  - rewrite (proj2 (on_spec (x 0)) ltac:(exists 0; auto)). destruct (s (x 0)); discriminate.
Qed.

(** *** Where the check finds a ring, there is one *)

Lemma filter_length_le {A} (f : A -> bool) l : length (filter f l) <= length l.
Proof. induction l as [| a l IH]; simpl; auto. destruct (f a); simpl; lia. Qed.

Lemma filter_all {A} (f : A -> bool) l : length (filter f l) = length l -> filter f l = l.
Proof.
  induction l as [| a l IH]; simpl; auto. destruct (f a); simpl; intros h.
  - f_equal; apply IH; lia.
  - pose proof (filter_length_le f l); lia.
Qed.

Lemma peeled_stable n : length (peeled n ways) + n <= length ways \/
  exists k, k <= n /\ peeled (S k) ways = peeled k ways.
Proof.
  induction n as [| n IH]; [left; simpl; lia |]. destruct IH as [IH | (k & hk & e)]; [| right; exists k; split; auto; lia].
  destruct (Nat.eq_dec (length (peeled (S n) ways)) (length (peeled n ways))) as [e | ne].
  - right; exists n; split; [lia |]. apply filter_all, e.
  - left. pose proof (filter_length_le (leads_on (peeled n ways)) (peeled n ways)). simpl in *; lia.
Qed.

Lemma peeled_stays k m : peeled (S k) ways = peeled k ways -> k <= m -> peeled m ways = peeled k ways.
Proof.
  intros e; induction 1 as [| m _ IH]; auto. simpl. rewrite IH. exact e.
Qed.

Lemma twice (w : nat -> id) names m : (forall k, In (w k) names) -> length names < m -> exists a b, a < b /\ b < m /\ w a = w b.
Proof.
  intros h hl.
  assert (K : forall n, (exists a b, a < b /\ b < n /\ w a = w b) \/ NoDup (map w (seq 0 n))).
  { induction n as [| n IH]; [right; constructor |]. destruct IH as [(a & b & x & y & z) | IH]; [left; exists a, b; repeat split; auto |].
    destruct (in_dec Nat.eq_dec (w n) (map w (seq 0 n))) as [hin | hout].
    - left. apply in_map_iff in hin as (a & e & ha). apply in_seq in ha. exists a, n; repeat split; auto; lia.
    - right. rewrite seq_S, map_app; simpl. apply (Permutation_NoDup (Permutation_cons_append _ _)). constructor; auto. }
  destruct (K m) as [? | nd]; auto. exfalso.
  pose proof (NoDup_incl_length nd (l' := names)) as L. rewrite map_length, seq_length in L.
  assert (incl (map w (seq 0 m)) names) by (intros i hi; apply in_map_iff in hi as (k & <- & _); apply h). specialize (L H). lia.
Qed.

Lemma a_closed_walk : no_ring ways = false -> exists m w, closed m w.
Proof.
  unfold no_ring. set (left := peeled (length ways) ways). intros h.
  assert (st : filter (leads_on left) left = left).
  { unfold left. destruct (peeled_stable (length ways)) as [hl | (k & hk & e)].
    - fold left in hl. destruct left as [| one rest]; [discriminate | simpl in hl; lia].
    - rewrite (peeled_stays k _ e hk). exact e. }
  destruct left as [| start rest] eqn:L; [discriminate |]. rewrite <- L in st. clear h.
  assert (sub : forall one, In one left -> In one ways) by (intros one h; apply (peeled_down 0 (length ways)); [lia | exact h]).
  set (names := map fst left).
  set (f := fun i => match find_named i left with
                     | Some js => match find (fun j => mem j names) js with Some j => j | None => i end
                     | None => i
                     end).
  assert (step : forall i, In i names -> In (f i) names /\ edge i (f i)).
  { intros i hi. unfold f. apply in_map_iff in hi as ((i', js) & e & hi); simpl in e; subst i'.
    assert (E : exists js', find_named i left = Some js').
    { unfold find_named. pose proof (proj2 (named_In i js left) hi) as N. destruct (named i left); [destruct N | eauto]. }
    destruct E as (js' & E). rewrite E. apply find_named_In in E.
    assert (leads : leads_on left (i, js') = true) by (rewrite <- st in E; apply filter_In in E; tauto).
    unfold leads_on in leads; simpl in leads. apply existsb_exists in leads as (j & hj & mj). fold names in mj.
    destruct (find (fun j => mem j names) js') as [j' |] eqn:F.
    - apply find_some in F as (hj' & mj'). apply mem_In in mj'. split; auto. exists js'; auto.
    - pose proof (find_none _ _ F j hj) as N. simpl in N. congruence. }
  set (w := fun k => Nat.iter k f (fst start)).
  assert (inside : forall k, In (w k) names).
  { induction k as [| k IH]; simpl; [unfold names; rewrite L; left; reflexivity | apply step, IH]. }
  destruct (twice w names (S (length names)) inside (Nat.lt_succ_diag_r _)) as (a & b & hab & _ & e).
  exists (b - a), (fun k => w (a + k)). constructor; [lia | |].
  - intros k _. replace (a + S k) with (S (a + k)) by lia. apply (step (w (a + k))), inside.
  - replace (a + (b - a)) with b by lia. rewrite Nat.add_0_r; auto.
Qed.

(** What the check refuses has, for some vehicle, no solution or two. *)
Theorem what_is_refused_has_not_one_solution : no_ring ways = false ->
  exists unmet, forall s, settles unmet s -> exists s' i, settles unmet s' /\ s' i <> s i.
Proof. intros h. destruct (a_closed_walk h) as (m & w & c). apply (on_a_ring_no_solution_is_the_only_one m w c). Qed.
End Ring.
