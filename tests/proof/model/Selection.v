(** Which blocks of a program stand (`src/program/select/standing.rs`): those in force on the date whose law applies, known by then,
    and no drafts; of several variants of one thing under the same readings, the latest published. *)

From Coq Require Import Lia.
From Wherefore Require Export Program Lists.
Local Open Scope Z_scope.

Record block := {
  starts : option Z; (* the first day; none: from the beginning *)
  ends : option Z; (* the last day; none: open *)
  published : option Z; (* none: always known *)
  draft : bool;
  change : option nat; (* the announced change that a draft is part of *)
  variant : option nat; (* what it is a variant of; none where several may stand together *)
  under : nat (* the readings and values it stands under, as one number *)
}.

Record selection := { as_of : Z; known_on : option Z; drafts : bool; with_change : option nat }.

Definition in_window (b : block) (day : Z) : bool :=
  match starts b with Some s => s <=? day | None => true end && match ends b with Some e => day <=? e | None => true end.

Definition is_known (b : block) (s : selection) : bool :=
  match published b, known_on s with Some p, Some day => p <=? day | _, _ => true end.

Definition counts_as_draft (b : block) (s : selection) : bool :=
  negb (draft b) || drafts s
  || match with_change s, change b with Some c, Some d => Nat.eqb c d | _, _ => false end.

Definition may_stand (s : selection) (b : block) : bool := in_window b (as_of s) && is_known b s && counts_as_draft b s.

(** A draft stands before what it would change; then the latest published; what was always known comes last. *)
Definition outranks (a b : block) : bool :=
  match draft a, draft b with
  | true, false => true
  | false, true => false
  | _, _ => match published a, published b with
            | Some p, Some q => q <? p
            | Some _, None => true
            | None, _ => false
            end
  end.

Definition same_thing (a b : block) : bool :=
  match variant a, variant b with Some v, Some w => Nat.eqb v w && Nat.eqb (under a) (under b) | _, _ => false end.

(** The blocks that stand, whatever reading they stand under. *)
Definition stand (s : selection) (blocks : list block) : list block :=
  let may := filter (may_stand s) blocks in
  filter (fun b => negb (existsb (fun other => same_thing b other && outranks other b) may)) may.

(** The order of blocks in a file means nothing. *)
Theorem the_order_of_blocks_is_meaningless s blocks blocks' :
  Permutation blocks blocks' -> Permutation (stand s blocks) (stand s blocks').
Proof.
  intros h. unfold stand. pose proof (filter_perm (may_stand s) _ _ h) as K.
  erewrite filter_ext; [apply filter_perm, K |].
  intros b; simpl. rewrite (existsb_perm _ _ _ K). reflexivity.
Qed.

(** Within an epoch the law is the same: where between two days no block begins and none has ended, the same blocks stand. *)
Definition quiet (b : block) (day later : Z) : Prop :=
  (forall s, starts b = Some s -> ~ (day < s <= later)) /\ (forall e, ends b = Some e -> ~ (day <= e < later)).

Lemma filter_ext_in {A} (f g : A -> bool) l : (forall a, In a l -> f a = g a) -> filter f l = filter g l.
Proof. induction l as [| a l IH]; simpl; auto. intros h. rewrite (h a), IH; auto. Qed.

Theorem within_an_epoch_the_law_is_the_same s day later blocks : day <= later ->
  (forall b, In b blocks -> quiet b day later) ->
  stand {| as_of := day; known_on := known_on s; drafts := drafts s; with_change := with_change s |} blocks =
  stand {| as_of := later; known_on := known_on s; drafts := drafts s; with_change := with_change s |} blocks.
Proof.
  intros hl h. unfold stand.
  match goal with |- context [filter (may_stand ?a) blocks] =>
    match goal with |- _ = filter _ (filter (may_stand ?b) blocks) =>
      assert (K : filter (may_stand a) blocks = filter (may_stand b) blocks); [| rewrite K; reflexivity]
    end end.
  apply filter_ext_in. intros b hb. unfold may_stand, is_known, counts_as_draft, in_window; simpl.
  destruct (h b hb) as (hs & he). do 2 f_equal. f_equal.
  - destruct (starts b) as [x |]; auto. specialize (hs x eq_refl).
    destruct (Z.leb_spec x day), (Z.leb_spec x later); auto; lia.
  - destruct (ends b) as [x |]; auto. specialize (he x eq_refl).
    destruct (Z.leb_spec day x), (Z.leb_spec later x); auto; lia.
Qed.

(** No draft stands unless it is asked for. *)
Theorem no_draft_stands_unasked s blocks b : drafts s = false -> with_change s = None -> In b (stand s blocks) -> draft b = false.
Proof.
  intros d c h. unfold stand in h. apply filter_In in h as (h & _). apply filter_In in h as (_ & h).
  unfold may_stand, counts_as_draft in h. rewrite d, c in h. rewrite !andb_true_iff, !orb_false_r, negb_true_iff in h. tauto.
Qed.

(** Of what stands, two variants of one thing under the same readings are of one rank: drafts both or neither, and published on one
    day. (`check` refuses two of one rank.) *)
Theorem variants_that_stand_are_of_one_rank s blocks a b : In a (stand s blocks) -> In b (stand s blocks) ->
  same_thing a b = true -> draft a = draft b /\ published a = published b.
Proof.
  unfold stand. rewrite !filter_In, !negb_true_iff. intros (ha & na) (hb & nb) same.
  assert (same' : same_thing b a = true).
  { unfold same_thing in *. destruct (variant a), (variant b); try discriminate. rewrite andb_true_iff, !Nat.eqb_eq in *. lia. }
  assert (oa : outranks b a = false).
  { destruct (outranks b a) eqn:E; auto. rewrite <- na; symmetry. apply existsb_exists; exists b.
    rewrite same, E; split; [apply filter_In; exact hb | reflexivity]. }
  assert (ob : outranks a b = false).
  { destruct (outranks a b) eqn:E; auto. rewrite <- nb; symmetry. apply existsb_exists; exists a.
    rewrite same', E; split; [apply filter_In; exact ha | reflexivity]. }
  unfold outranks in *. destruct (draft a), (draft b); try discriminate; split; auto;
    destruct (published a) as [x |], (published b) as [y |]; try discriminate; auto;
    rewrite Z.ltb_ge in oa, ob; f_equal; lia.
Qed.

(** ** What the date of the visit settles (`src/program/select/resolve.rs`)

    A vehicle's age is the year of the test less its model year plus 0 or 1, as the program counts it. Selection turns a test of the
    age into a test of the model year. *)
Definition age (test_year plus model_year : Z) : Z := test_year - model_year + plus.
Definition years_of_age (test_year plus : Z) (b : bounds) : bounds :=
  {| least := option_map (fun m => test_year + plus - m) (most b); most := option_map (fun l => test_year + plus - l) (least b) |}.

Theorem a_test_of_age_is_a_test_of_the_model_year test_year plus b model_year :
  inside (years_of_age test_year plus b) model_year = inside b (age test_year plus model_year).
Proof.
  unfold inside, years_of_age, age. destruct b as [[l |] [m |]]; simpl; rewrite ?andb_true_r; auto.
  - rewrite andb_comm. f_equal; apply Bool.eq_iff_eq_true; rewrite !Z.leb_le; lia.
  - apply Bool.eq_iff_eq_true; rewrite !Z.leb_le; lia.
  - apply Bool.eq_iff_eq_true; rewrite !Z.leb_le; lia.
Qed.

(** A test of equal parity is a test of the model year's. *)
Theorem a_test_of_parity_is_a_test_of_the_model_year test_year model_year same :
  Bool.eqb (model_year mod 2 =? 0) (Bool.eqb same (test_year mod 2 =? 0)) =
  Bool.eqb (Bool.eqb (model_year mod 2 =? 0) (test_year mod 2 =? 0)) same.
Proof. destruct (model_year mod 2 =? 0), (test_year mod 2 =? 0), same; reflexivity. Qed.
