(** One proof for all: two logics whose tests are related have related walks, whatever the program and however its items are
    ordered. *)

From Coq Require Export Permutation Lia.
Set Warnings "-fragile-hint-constr".
From Wherefore Require Export Meaning Lists.

(** Each of one list has its like in the other. *)
Definition each {A B} (R : A -> B -> Prop) (l : list A) (l' : list B) : Prop :=
  (forall a, In a l -> exists b, In b l' /\ R a b) /\ (forall b, In b l' -> exists a, In a l /\ R a b).

Record related (A B : logic) (R : truth A -> truth B -> Prop) (RF : fact A -> fact B -> Prop) : Prop := {
  r_yes : R (yes A) (yes B);
  r_no : R (no A) (no B);
  r_lost : R (lost A) (lost B);
  r_neg : forall a b, R a b -> R (neg A a) (neg B b);
  r_both : forall a b c d, R a b -> R c d -> R (both A a c) (both B b d);
  r_any : forall l l', each R l l' -> R (any A l) (any B l');
  r_how_many : forall l l' b, Forall2 R l l' -> R (how_many A l b) (how_many B l' b);
  r_how_many_to : forall l l' f f', Forall2 R l l' -> RF f f' -> R (how_many_to A l f) (how_many_to B l' f');
  r_word : forall f f' words, RF f f' -> R (is_word A f words) (is_word B f' words);
  r_number : forall f f' b, RF f f' -> R (is_number A f b) (is_number B f' b);
  r_text : forall f f' among is, RF f f' -> R (is_text A f among is) (is_text B f' among is);
  r_even : forall f f' even, RF f f' -> R (is_even A f even) (is_even B f' even);
  r_there : forall f f', RF f f' -> R (is_there A f) (is_there B f');
  r_set : forall f f' m, RF f f' -> R (in_set A f m) (in_set B f' m);
  r_stands : forall f f' a b states, RF f f' -> R a b -> R (stands_in A f a states) (stands_in B f' b states);
  r_codes : forall f f' h x x' some some' every, RF f f' -> (forall c, R (x c) (x' c)) -> R some some' ->
    (some = no A -> forall c, x c = no A) -> (every = true -> forall c, x c = yes A) ->
    R (has_codes A f h x some every) (has_codes B f' h x' some' every);
  r_none : forall l, any A l = no A <-> (forall a, In a l -> a = no A);
  r_apart : yes A <> no A
}.

(** What two subjects must share. *)
Record alike {A B} (R : truth A -> truth B -> Prop) (RF : fact A -> fact B -> Prop) (a : subject A) (b : subject B) : Prop := {
  a_facts : forall f, RF (fact_of a f) (fact_of b f);
  a_readings : forall q r, R (read_as a q r) (read_as b q r);
  a_bands : forall g, R (band_holds a g) (band_holds b g);
  a_numbers : forall slot l l', Forall2 R l l' -> R (number_allows a slot l) (number_allows b slot l');
  a_rows : forall t r, presumed_row a t r = presumed_row b t r
}.

(** Two programs of the same items, in any order. *)
Record same_items (p q : program) : Prop := {
  s_force : in_force p = in_force q;
  s_monitors : monitors p = monitors q;
  s_groups : Permutation (groups p) (groups q);
  s_findings : Permutation (findings p) (findings q);
  s_tables : Permutation (tables p) (tables q);
  s_limits : Permutation (limits p) (limits q);
  s_counts : Permutation (counts p) (counts q);
  s_excuses : Permutation (excuses p) (excuses q);
  s_covers : Permutation (covers p) (covers q);
  s_left_out : Permutation (left_out p) (left_out q);
  s_lines : Permutation (lines p) (lines q);
  s_becomes : Permutation (becomes p) (becomes q)
}.

Lemma same_refl p : same_items p p.
Proof. constructor; auto. Qed.

Lemma named_perm {A} n (l l' : list (id * A)) : Permutation l l' -> Permutation (named n l) (named n l').
Proof. intros; unfold named; apply Permutation_map, filter_perm; assumption. Qed.

Lemma empty_perm {A} (l l' : list A) : Permutation l l' -> is_empty l = is_empty l'.
Proof. intros H; apply Permutation_length in H; destruct l, l'; simpl in *; congruence. Qed.

Lemma map_pointwise {A B} (g : A -> B) (P : B -> Prop) l : (forall x, P (g x)) -> forall b, In b (map g l) -> P b.
Proof. intros H b; rewrite in_map_iff; intros (x & <- & _); auto. Qed.

(** An induction that reaches into the lists. *)
Lemma condition_deep (P : condition -> Prop) :
  (forall l, Forall P l -> P (All l)) -> (forall l, Forall P l -> P (Any l)) ->
  (forall c, P c -> P (Not c)) -> (forall t, P (Test t)) -> forall c, P c.
Proof.
  intros hall hany hnot htest; fix IH 1; intros [l | l | c | t];
    [apply hall | apply hany | apply hnot, IH | apply htest];
    induction l; constructor; auto.
Qed.

Section Related.
Variables A B : logic.
Variable R : truth A -> truth B -> Prop.
Variable RF : fact A -> fact B -> Prop.
Hypothesis rel : related A B R RF.
Variables p q : program.
Hypothesis same : same_items p q.
Variable a : subject A.
Variable b : subject B.
Hypothesis both_alike : alike R RF a b.

Lemma each_map {X} (f : X -> truth A) (g : X -> truth B) l l' :
  Permutation l l' -> (forall x, R (f x) (g x)) -> each R (map f l) (map g l').
Proof.
  intros perm H; split; intros y; rewrite in_map_iff; intros (x & <- & hx).
  - exists (g x); split; auto. apply in_map, (Permutation_in _ perm hx).
  - exists (f x); split; auto. apply in_map, (Permutation_in _ (Permutation_sym perm) hx).
Qed.

Lemma any_map {X} (f : X -> truth A) (g : X -> truth B) l l' :
  Permutation l l' -> (forall x, R (f x) (g x)) -> R (any A (map f l)) (any B (map g l')).
Proof. intros; apply (r_any _ _ _ _ rel), each_map; auto. Qed.

Lemma of_related x : R (of A x) (of B x).
Proof. destruct x; simpl; [apply (r_yes _ _ _ _ rel) | apply (r_no _ _ _ _ rel)]. Qed.

Lemma count_map (f : monitor -> truth A) g l : (forall m, R (f m) (g m)) -> Forall2 R (map f l) (map g l).
Proof. intros; induction l; simpl; auto. Qed.

Hint Resolve of_related (r_both _ _ _ _ rel) (r_neg _ _ _ _ rel) (r_yes _ _ _ _ rel) (r_no _ _ _ _ rel)
  (r_lost _ _ _ _ rel) (r_set _ _ _ _ rel) (a_facts _ _ _ _ both_alike) (r_stands _ _ _ _ rel) filter_perm named_perm
  (r_how_many _ _ _ _ rel) : wf.
Hint Resolve (s_groups _ _ same) (s_findings _ _ same) (s_tables _ _ same) (s_limits _ _ same) (s_counts _ _ same)
  (s_excuses _ _ same) (s_covers _ _ same) (s_lines _ _ same) : wf.

Section Tests.
Variable j : condition -> truth A.
Variable j' : condition -> truth B.
Hypothesis judges : forall c, R (j c) (j' c).
Hint Resolve judges : wf.

Lemma row_related t r : R (row_holds A a j t r) (row_holds B b j' t r).
Proof. unfold row_holds; rewrite (a_rows _ _ _ _ both_alike); destruct presumed_row; auto with wf. Qed.
Hint Resolve row_related : wf.

Lemma counted_related states m : R (counted_in A p a j states m) (counted_in B q b j' states m).
Proof.
  unfold counted_in, is_counted, counts_as_incomplete, rules_of.
  apply (r_both _ _ _ _ rel); [apply (r_both _ _ _ _ rel) | apply (r_stands _ _ _ _ rel)]; auto with wf.
  - apply any_map; auto with wf.
  - apply (r_neg _ _ _ _ rel), any_map; auto with wf. intros e; unfold is_excused.
    apply (r_both _ _ _ _ rel); auto with wf.
    destruct (which e); auto with wf. apply any_map; auto with wf.
  - apply any_map; auto with wf.
Qed.
Hint Resolve counted_related : wf.

Lemma count_related states : Forall2 R (count_of A p a j states) (count_of B q b j' states).
Proof. unfold count_of; rewrite (s_monitors _ _ same); apply count_map; auto with wf. Qed.
Hint Resolve count_related : wf.

Lemma allows_related r : R (row_allows A p a j r) (row_allows B q b j' r).
Proof.
  unfold row_allows; destruct (allows r) as [n [l |] | n | slot]; auto with wf.
  - apply (r_both _ _ _ _ rel); auto with wf.
    apply (r_neg _ _ _ _ rel). rewrite (s_monitors _ _ same). apply any_map; auto with wf.
  - apply (a_numbers _ _ _ _ both_alike); auto with wf.
Qed.

Lemma group_related g c : R (in_group A p a g c) (in_group B q b g c).
Proof.
  unfold in_group.
  set (l := filter _ (named g (groups p))). set (l' := filter _ (named g (groups q))).
  assert (perm : Permutation l l') by (subst l l'; auto with wf).
  rewrite <- (existsb_perm _ _ _ perm), <- (existsb_perm unread _ _ perm).
  destruct existsb; auto with wf. destruct existsb; auto with wf. apply (a_bands _ _ _ _ both_alike).
Qed.

Lemma earlier_related f states : R (in_earlier A p a f states) (in_earlier B q b f states).
Proof. unfold in_earlier; rewrite (s_monitors _ _ same); apply any_map; auto with wf. Qed.

Lemma empty_group g c : is_empty (named g (groups p)) = true -> in_group A p a g c = no A.
Proof. unfold in_group; destruct (named g (groups p)); [reflexivity | discriminate]. Qed.

Lemma test_related t : R (test_holds A p a j t) (test_holds B q b j' t).
Proof.
  destruct t; simpl; auto with wf.
  - apply (r_word _ _ _ _ rel); auto with wf.
  - apply (r_number _ _ _ _ rel); auto with wf.
  - apply (r_text _ _ _ _ rel); auto with wf.
  - apply (r_even _ _ _ _ rel); auto with wf.
  - pose proof (r_there _ _ _ _ rel _ _ (a_facts _ _ _ _ both_alike f)). destruct is; auto with wf.
  - destruct group as [g |].
    + apply (r_codes _ _ _ _ rel); auto with wf.
      * intros; apply group_related.
      * rewrite <- (empty_perm (named g (groups p)) (named g (groups q)) (named_perm g _ _ (s_groups _ _ same))).
        apply of_related.
      * destruct (is_empty (named g (groups p))) eqn:E; simpl; intros H c; [auto using empty_group |].
        exfalso; apply (r_apart _ _ _ _ rel); exact H.
      * discriminate.
    + apply (r_codes _ _ _ _ rel); auto with wf.
  - apply (r_codes _ _ _ _ rel); auto with wf.
    + intros; apply any_map; auto with wf.
    + apply any_map; auto with wf.
    + intros H c. apply (r_none _ _ _ _ rel). intros x. rewrite in_map_iff. intros (r & <- & hr).
      apply filter_In in hr. apply (proj1 (r_none _ _ _ _ rel _) H), in_map, hr.
    + discriminate.
  - apply (r_how_many _ _ _ _ rel), count_map; auto with wf.
  - destruct q0; auto using earlier_related with wf.
  - apply (r_how_many_to _ _ _ _ rel); auto with wf.
  - apply any_map; auto with wf. intros r. pose proof (allows_related r).
    destruct within; auto with wf.
  - apply any_map; auto with wf.
  - apply any_map; auto with wf.
  - apply (a_readings _ _ _ _ both_alike).
Qed.
End Tests.

Lemma joined_related leaf leaf' : (forall t, R (leaf t) (leaf' t)) -> forall c, R (joined A leaf c) (joined B leaf' c).
Proof.
  intros H c; induction c using condition_deep; simpl; auto with wf.
  - unfold all; induction H0; simpl; auto with wf.
  - apply (r_any _ _ _ _ rel). split; intros x; rewrite in_map_iff; intros (c & <- & hc);
      rewrite Forall_forall in H0; eauto using in_map.
Qed.

Lemma judged_related deep c : R (judged A p a deep c) (judged B q b deep c).
Proof.
  revert c; induction deep; intros c; simpl; apply joined_related; intros; apply test_related; auto with wf.
Qed.

Lemma holds_related c : R (holds A p a c) (holds B q b c).
Proof.
  unfold holds. replace (depth q) with (depth p); [apply judged_related |].
  unfold depth. rewrite (Permutation_length (s_findings _ _ same)), (Permutation_length (s_limits _ _ same)),
    (Permutation_length (s_tables _ _ same)). reflexivity.
Qed.

Lemma covered_related : R (is_covered A p a) (is_covered B q b).
Proof. apply any_map; auto using holds_related with wf. Qed.

(** *** How lines stand *)

Definition one_alike (x : truth A * list (id * truth A)) (y : truth B * list (id * truth B)) : Prop :=
  R (fst x) (fst y) /\ each (fun w w' => fst w = fst w' /\ R (snd w) (snd w')) (snd x) (snd y).
Definition tagged {X Y} (P : X -> Y -> Prop) (x : id * X) (y : id * Y) : Prop := fst x = fst y /\ P (snd x) (snd y).

Lemma scene_related : each (tagged one_alike) (the_scene A p a) (the_scene B q b).
Proof.
  assert (K : forall one : id * line, tagged one_alike
    (fst one, (unmet A p a (snd one), map (fun way => (fst way, holds A p a (snd way))) (gives_way (snd one))))
    (fst one, (unmet B q b (snd one), map (fun way => (fst way, holds B q b (snd way))) (gives_way (snd one))))).
  { intros (n, l); repeat split; simpl.
    - unfold unmet; auto using holds_related with wf.
    - intros x; rewrite in_map_iff; intros (w & <- & hw). eexists; split; [apply in_map, hw | simpl; auto using holds_related].
    - intros x; rewrite in_map_iff; intros (w & <- & hw). eexists; split; [apply in_map, hw | simpl; auto using holds_related]. }
  unfold the_scene; split; intros x; rewrite in_map_iff; intros (one & <- & hone).
  - eexists; split; [apply in_map; eapply Permutation_in; [apply (s_lines _ _ same) | eassumption] | apply K].
  - eexists; split; [apply in_map; eapply Permutation_in; [apply Permutation_sym, (s_lines _ _ same) | eassumption] | apply K].
Qed.

Lemma named_each {X Y} (P : X -> Y -> Prop) n l l' : each (tagged P) l l' -> each P (named n l) (named n l').
Proof.
  intros (f & g); split; unfold named; intros x; rewrite in_map_iff; intros ((m, y) & <- & hy);
    apply filter_In in hy as (hy & e); simpl in *; apply Nat.eqb_eq in e; subst m.
  - destruct (f _ hy) as ((m, z) & hz & (e & r)); simpl in *; subst m. exists z; split; auto.
    apply in_map_iff; exists (n, z); split; auto. apply filter_In; split; auto. apply Nat.eqb_refl.
  - destruct (g _ hy) as ((m, z) & hz & (e & r)); simpl in *; subst m. exists z; split; auto.
    apply in_map_iff; exists (n, z); split; auto. apply filter_In; split; auto. apply Nat.eqb_refl.
Qed.

Lemma rounds_related n s s' : each (tagged one_alike) s s' -> each (tagged R) (rounds A n s) (rounds B n s').
Proof.
  intros hs; induction n; simpl.
  - destruct hs as (f & g); split; intros x; rewrite in_map_iff; intros (one & <- & hone).
    + destruct (f _ hone) as (y & hy & e & _). eexists; split; [apply in_map, hy | split; simpl; auto with wf].
    + destruct (g _ hone) as (y & hy & e & _). eexists; split; [apply in_map, hy | split; simpl; auto with wf].
  - assert (K : forall x y, one_alike x y -> R (stands_next A (rounds A n s) x) (stands_next B (rounds B n s') y)).
    { intros (u, w) (u', w') (hu & hw); unfold stands_next; simpl in *.
      apply (r_both _ _ _ _ rel); auto. apply (r_neg _ _ _ _ rel), (r_any _ _ _ _ rel).
      assert (step : forall v v', fst v = fst v' /\ R (snd v) (snd v') ->
        R (both A (snd v) (any A (named (fst v) (rounds A n s)))) (both B (snd v') (any B (named (fst v') (rounds B n s'))))).
      { intros (m, t) (m', t') (e & r); simpl in *; subst m'. apply (r_both _ _ _ _ rel); auto.
        apply (r_any _ _ _ _ rel), named_each; assumption. }
      destruct hw as (f & g); split; intros x; rewrite in_map_iff; intros (v & <- & hv).
      - destruct (f _ hv) as (v' & hv' & e). eexists; split; [apply in_map, hv' | apply step, e].
      - destruct (g _ hv) as (v' & hv' & e). eexists; split; [apply in_map, hv' | apply step, e]. }
    unfold next; destruct hs as (f & g); split; intros x; rewrite in_map_iff; intros (one & <- & hone).
    + destruct (f _ hone) as (y & hy & e & r). eexists; split; [apply in_map, hy | split; simpl; auto].
    + destruct (g _ hone) as (y & hy & e & r). eexists; split; [apply in_map, hy | split; simpl; auto].
Qed.

Lemma standing_related : each (tagged R) (standing A p a) (standing B q b).
Proof.
  unfold standing. rewrite (Permutation_length (s_lines _ _ same)). apply rounds_related, scene_related.
Qed.

Lemma line_related n : R (any A (named n (standing A p a))) (any B (named n (standing B q b))).
Proof. apply (r_any _ _ _ _ rel), named_each, standing_related. Qed.
End Related.
