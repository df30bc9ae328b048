(** The interpreter's set holds the verdict of every vehicle that agrees with what is known. *)

From Wherefore Require Export Sound.

Lemma top_spec l : match top l with
  | None => forall x, In x l -> fst x = false
  | Some n => (exists x, In x l /\ fst x = true /\ snd x = n) /\ (forall x, In x l -> fst x = true -> snd x <= n)
  end.
Proof.
  induction l as [| (b, n) l IH]; simpl; [intros _ [] |].
  destruct b; simpl.
  - unfold greater. destruct (top l) as [m |].
    + destruct IH as ((x & hx & hb & e) & h). split.
      * destruct (Nat.max_spec m n) as [(_ & ->) | (_ & ->)]; [exists (true, n) | exists x]; simpl; auto.
      * intros y [<- | hy] ht; simpl; [lia |]. specialize (h y hy ht); lia.
    + split; [exists (true, n); simpl; auto |]. intros y [<- | hy] ht; simpl; auto. rewrite (IH y hy) in ht; discriminate.
  - destruct (top l) as [m |].
    + destruct IH as ((x & hx & e) & h). split; [exists x; auto |]. intros y [<- | hy] ht; [discriminate | auto].
    + intros y [<- | hy]; auto.
Qed.

(** Rows of what may be, and rows of what is. *)
Definition row_tells {A B} (R : A -> B -> Prop) (x : A * nat) (y : B * nat) : Prop := snd x = snd y /\ R (fst x) (fst y).

Lemma surely_spec (l : list (tv * nat)) :
  match top (map (fun one => (is_T (fst one), snd one)) l) with
  | None => forall x, In x l -> fst x <> T
  | Some n => In (T, n) l /\ (forall x, In x l -> fst x = T -> snd x <= n)
  end.
Proof.
  pose proof (top_spec (map (fun one => (is_T (fst one), snd one)) l)) as H. destruct top as [n |].
  - destruct H as ((x & hx & t & e) & h). apply in_map_iff in hx as ((a, m) & <- & hx); simpl in *. split.
    + destruct a; try discriminate. subst; exact hx.
    + intros y hy ht. apply (h (is_T (fst y), snd y)); [apply in_map_iff; eauto | rewrite ht; reflexivity].
  - intros x hx e. specialize (H (is_T (fst x), snd x)). rewrite e in H; simpl in H.
    discriminate H. apply in_map_iff; exists x; rewrite e; auto.
Qed.

Lemma tops_sound l l' : each (row_tells tells) l l' -> In (top l') (tops l).
Proof.
  intros (f & g). unfold tops. pose proof (surely_spec l) as hs. pose proof (top_spec l') as ht.
  set (surely := top (map _ l)) in *.
  destruct (top l') as [n |].
  - destruct ht as ((x & hx & t & e) & h). destruct (g x hx) as (a & ha & en & r).
    destruct surely as [m |].
    + destruct hs as (hm & hs).
      assert (m <= n).
      { destruct (f _ hm) as (y & hy & en' & r'); simpl in *. rewrite en'. apply h; auto. apply (tells_T _ _ r' eq_refl). }
      destruct (Nat.eq_dec m n) as [-> | ne]; [left; reflexivity |].
      right. apply in_map_iff; exists a; split; [congruence |]. apply filter_In; split; auto.
      destruct (fst a) eqn:E; simpl.
      * rewrite (tells_F _ _ r eq_refl) in t; discriminate.
      * apply Nat.ltb_lt; lia.
      * specialize (hs a ha E); lia.
    + right. apply in_map_iff; exists a; split; [congruence |]. apply filter_In; split; auto.
      destruct (fst a) eqn:E; simpl; auto.
      * rewrite (tells_F _ _ r eq_refl) in t; discriminate.
      * exfalso; apply (hs a ha E).
  - destruct surely as [m |]; [| left; reflexivity].
    destruct hs as (hm & _). destruct (f _ hm) as (y & hy & _ & r).
    specialize (ht y hy). rewrite (tells_T _ _ r eq_refl) in ht; discriminate.
Qed.

Lemma rows_alike {A B X} (R : A -> B -> Prop) (f : X -> A) (g : X -> B) (w : X -> nat) l l' :
  Permutation l l' -> (forall x, R (f x) (g x)) ->
  each (row_tells R) (map (fun x => (f x, w x)) l) (map (fun x => (g x, w x)) l').
Proof.
  intros perm H; split; intros y; rewrite in_map_iff; intros (x & <- & hx).
  - exists (g x, w x); split; [| split; simpl; auto].
    apply in_map_iff; exists x; split; auto. apply (Permutation_in _ perm hx).
  - exists (f x, w x); split; [| split; simpl; auto].
    apply in_map_iff; exists x; split; auto. apply (Permutation_in _ (Permutation_sym perm) hx).
Qed.

Section Outlook.
Variable p : program.
Variable k : subject Known.
Variable v : subject Vehicle.
Hypothesis both_alike : alike (A := Known) (B := Vehicle) tells fits k v.

Let holds_tell c : tells (holds Known p k c) (holds Vehicle p v c).
Proof. apply (holds_related _ _ _ _ known_tells _ _ (same_refl p) _ _ both_alike). Qed.

Lemma relabelled_sound o : In (Outcome (relabelled p v o)) (may_become p k o).
Proof.
  unfold relabelled, may_become. apply in_map_iff.
  eexists; split; [| apply tops_sound, rows_alike; [apply Permutation_refl | intros; apply holds_tell]].
  destruct top; reflexivity.
Qed.

Lemma by_lines_sound : In (Outcome (relabelled p v (by_lines p v))) (may_by_lines p k).
Proof.
  unfold may_by_lines, by_lines. apply in_flat_map.
  eexists; split; [apply tops_sound, rows_alike; [apply Permutation_refl |] | apply relabelled_sound].
  intros x. apply (line_related _ _ _ _ known_tells _ _ (same_refl p) _ _ both_alike).
Qed.

Lemma outlook_sound : In (verdict_of p v) (outlook p k).
Proof.
  unfold verdict_of, outlook. destruct (in_force p); cbn [andb negb]; [| left; reflexivity].
  pose proof (covered_related _ _ _ _ known_tells _ _ (same_refl p) _ _ both_alike) as hc.
  apply in_or_app. destruct (is_covered Vehicle p v) eqn:E; cbn [negb].
  - right. destruct (is_F (is_covered Known p k)) eqn:N.
    { destruct (is_covered Known p k); try discriminate. pose proof (tells_F _ _ hc eq_refl); discriminate. }
    apply in_flat_map. eexists; split; [apply tops_sound, rows_alike; [apply Permutation_refl | intros; apply holds_tell] |].
    destruct top as [[| o] |]; [left; reflexivity | apply relabelled_sound | apply by_lines_sound].
  - left. destruct (is_T (is_covered Known p k)) eqn:Y; [| left; reflexivity].
    destruct (is_covered Known p k); try discriminate. pose proof (tells_T _ _ hc eq_refl); discriminate.
Qed.
End Outlook.

(** ** Ways of reading *)

Lemma named_In {A} n (a : A) l : In a (named n l) <-> In (n, a) l.
Proof.
  unfold named; rewrite in_map_iff; split.
  - intros ((m, b) & <- & h). apply filter_In in h as (h & e). apply Nat.eqb_eq in e; simpl in *; subst; exact h.
  - intros h; exists (n, a); split; auto. apply filter_In; split; auto. apply Nat.eqb_refl.
Qed.

Lemma find_named_In {A} n (a : A) l : find_named n l = Some a -> In (n, a) l.
Proof. unfold find_named; intros h; apply named_In. destruct named; [discriminate | injection h as ->; left; reflexivity]. Qed.

Definition way_of (p : program) (v : vehicle) : list (id * nat) :=
  map (fun q => (fst q, v_reading v (fst q))) (open_questions p).

Lemma way_in p k v : agrees p k v -> In (way_of p v) (all_ways p).
Proof.
  intros ag. unfold way_of, all_ways.
  assert (K : forall q n, In (q, n) (open_questions p) -> v_reading v q < n).
  { intros q n h. apply in_flat_map in h as ((q' & m & taken) & h & h'); simpl in h'.
    pose proof (agrees_readings _ _ _ ag _ _ _ h). destruct taken; simpl in h'; [tauto |].
    destruct h' as [e | []]; injection e as <- <-; assumption. }
  induction (open_questions p) as [| (q, n) l IH]; simpl; [auto |].
  apply in_flat_map; exists (v_reading v q); split.
  - apply in_seq; specialize (K q n (or_introl eq_refl)); lia.
  - apply in_map, IH. intros; apply K; right; assumption.
Qed.

Lemma reading_sound p k v way q r : agrees p k v -> In way [way_of p v; []] ->
  reading p way q = Some r -> v_reading v q = r.
Proof.
  intros ag hw. unfold reading. destruct (find_named q (questions p)) as [(n, [taken |]) |] eqn:E; try discriminate.
  - intros h; injection h as ->. apply find_named_In in E. apply (agrees_readings _ _ _ ag _ _ _ E).
  - intros h. apply find_named_In in h. destruct hw as [<- | [<- | []]]; [| destruct h].
    apply in_map_iff in h as ((q', m) & e & _); simpl in e; congruence.
Qed.

Lemma known_alike p k v way : agrees p k v -> In way [way_of p v; []] -> alike (A := Known) (B := Vehicle) tells fits (in_known p way k) (of_vehicle v).
Proof.
  intros ag hw; constructor; simpl.
  - apply (agrees_facts _ _ _ ag).
  - intros q r. destruct (reading p way q) eqn:E; [| left; reflexivity].
    rewrite (reading_sound _ _ _ _ _ _ ag hw E). right; reflexivity.
  - left; reflexivity.
  - intros slot l l' h. apply counts_of_truths in h. pose proof (agrees_numbers _ _ _ ag slot).
    destruct (perhaps_hold l =? 0)%Z eqn:E; [| left; reflexivity].
    right; simpl. apply Z.eqb_eq in E. rewrite (proj2 (Z.leb_le _ _)); [reflexivity | lia].
  - apply (agrees_rows _ _ _ ag).
Qed.

(** The interpreter's set holds the exact set: the verdict of every vehicle that agrees with what is known is in it. *)
Theorem the_interpreter_leaves_no_verdict_out p k v :
  agrees p k v -> In (the_verdict p v) (interpret p k).
Proof.
  intros ag. unfold interpret, ways, the_verdict. apply in_flat_map.
  destruct (Nat.leb (number_of_ways p) 64).
  - exists (way_of p v); split; [eapply way_in; eauto | apply outlook_sound, known_alike; simpl; auto].
  - exists []; split; [left; reflexivity | apply outlook_sound, known_alike; simpl; auto].
Qed.

(** Where it holds one verdict, that is the verdict. *)
Corollary a_single_verdict_is_the_verdict p k v o :
  agrees p k v -> (forall w, In w (interpret p k) -> w = o) -> the_verdict p v = o.
Proof. intros ag h; apply h, the_interpreter_leaves_no_verdict_out, ag. Qed.
