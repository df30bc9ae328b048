(* Holds the machine-checked model against what the library told (the dump of tests/it/proof). What differs is printed with
   the line of the dump; the last lines count what was compared. *)

open Model

(* Lists in brackets. *)
type sexp = Atom of string | List of sexp list

let parse line =
  let n = String.length line in
  let rec items i acc =
    if i >= n then (List.rev acc, i)
    else
      match line.[i] with
      | ' ' -> items (i + 1) acc
      | ')' -> (List.rev acc, i + 1)
      | '(' ->
          let inside, i = items (i + 1) [] in
          items i (List inside :: acc)
      | '"' ->
          let j = String.index_from line (i + 1) '"' in
          items (j + 1) (Atom (String.sub line (i + 1) (j - i - 1)) :: acc)
      | _ ->
          let j = ref i in
          while !j < n && line.[!j] <> ' ' && line.[!j] <> ')' && line.[!j] <> '(' do incr j done;
          items !j (Atom (String.sub line i (!j - i)) :: acc)
  in
  match items 0 [] with [ it ], _ -> it | _ -> failwith "one list a line"

exception Shape of string

let shape what = raise (Shape what)
let int = function Atom a -> int_of_string a | List _ -> shape "a number"
let bit s = int s = 1
let list f = function List l -> List.map f l | Atom _ -> shape "a list"
let ints = list int
let opt f = function Atom "-" -> None | s -> Some (f s)
let bounds a b = { least = opt int a; most = opt int b }

let range = function
  | List [ a; b; d ] -> { first = int a; last = int b; digits_only = bit d }
  | _ -> shape "a range"

let possible = function
  | List [ Atom "w"; w; a ] -> PWords (ints w, bit a)
  | List [ Atom "n"; l; h; a ] -> PNumber (int l, int h, bit a)
  | List [ Atom "t"; t ] -> PText (opt int t)
  | List [ Atom "s"; s; p ] -> PSet (ints s, ints p)
  | List [ Atom "c"; r; a; p ] ->
      let read = function List [ c; m ] -> (list (opt int) c, bit m) | _ -> shape "codes" in
      PCodes (opt read r, bit a, bit p)
  | _ -> shape "what a fact can be"

let how = function
  | Atom "any" -> AnyCode
  | Atom "no" -> NoCode
  | Atom "only" -> OnlyCodes
  | _ -> shape "how"

let rec condition = function
  | List (Atom "all" :: l) -> All (List.map condition l)
  | List (Atom "any" :: l) -> Any (List.map condition l)
  | List [ Atom "not"; c ] -> Not (condition c)
  | s -> Test (test s)

and test = function
  | List [ Atom "word"; f; w ] -> Word (int f, ints w)
  | List [ Atom "number"; f; a; b ] -> Number (int f, bounds a b)
  | List [ Atom "text"; f; among; is ] -> Text (int f, ints among, bit is)
  | List [ Atom "even"; f; e ] -> YearIsEven (int f, bit e)
  | List [ Atom "present"; f; is ] -> Present (int f, bit is)
  | List [ Atom "codes"; f; h; g ] -> Codes (int f, how h, opt int g)
  | List [ Atom "codesoftable"; f; h; t ] -> CodesOfTable (int f, how h, int t)
  | List [ Atom "count"; s; a; b ] -> Count (ints s, bounds a b)
  | List [ Atom "countof"; m; s; a; b ] -> CountOf (ints m, ints s, bounds a b)
  | List [ Atom "pair"; Atom q; f; s ] ->
      let q = match q with "some" -> SomeOf | "every" -> EveryOf | "none" -> NoneOf | _ -> shape "a quantifier" in
      Pair (q, int f, ints s)
  | List [ Atom "notmore"; f ] -> NotMoreIncomplete (int f)
  | List [ Atom "limit"; l; w ] -> Limit (int l, bit w)
  | List [ Atom "finding"; f ] -> Finding (int f)
  | List [ Atom "listed"; t ] -> Listed (int t)
  | List [ Atom "reading"; q; r ] -> Reading (int q, int r)
  | _ -> shape "a test"

let allowance = function
  | List [ Atom "atmost"; n; only ] -> AtMost (int n, opt ints only)
  | List [ Atom "atleast"; n ] -> AtLeastComplete (int n)
  | List [ Atom "notread"; slot ] -> NotRead (int slot)
  | _ -> shape "an allowance"

let excused = function
  | List [ Atom "monitors"; m ] -> Monitors (ints m)
  | List [ Atom "earlier"; f ] -> EarlierIncomplete (int f)
  | List [ Atom "table"; t ] -> OfTable (int t)
  | _ -> shape "an excuse"

let presumption = function
  | List [ f; v; c ] ->
      let value =
        match v with
        | List [ Atom "word"; w ] -> IsWord (int w)
        | List [ Atom "number"; n ] -> IsNumber (int n)
        | List [ Atom "text"; t ] -> IsText (int t)
        | List [ Atom "notlisted"; t; asked ] -> NotListed (int t, ints asked)
        | _ -> shape "what is presumed"
      in
      { presumes = int f; value_presumed = value; presumed_where = condition c }
  | _ -> shape "a presumption"

(* A program with its name and its presumptions. *)
let program = function
  | List
      [ Atom "program"; Atom name; force; mons; qs; gs; fs; ts; ls; cs; es; cov; out; lines; bec; pres ] ->
      let p =
        {
          in_force = bit force;
          monitors = ints mons;
          questions = list (function List [ q; n; t ] -> (int q, (int n, opt int t)) | _ -> shape "a question") qs;
          groups =
            list (function List [ g; u; r ] -> (int g, { codes_in = range r; unread = bit u }) | _ -> shape "a group") gs;
          findings = list (function List [ f; c ] -> (int f, condition c) | _ -> shape "a finding") fs;
          tables =
            list
              (function
                | List [ t; id; c; m; codes ] ->
                    (int t, { row_id = int id; row_where = condition c; row_excuses = ints m; row_codes = list range codes })
                | _ -> shape "a row")
              ts;
          limits =
            list
              (function List [ l; c; a ] -> (int l, { limit_where = condition c; allows = allowance a }) | _ -> shape "a limit")
              ls;
          counts =
            list
              (function
                | List [ c; m; u ] -> { counts_where = condition c; counted_monitors = ints m; as_incomplete = bit u }
                | _ -> shape "a rule")
              cs;
          excuses =
            list (function List [ c; w ] -> { excuse_where = condition c; which = excused w } | _ -> shape "an excuse") es;
          covers = list condition cov;
          left_out =
            list (function List [ c; o ] -> { left_where = condition c; left_to = opt int o } | _ -> shape "a row") out;
          lines =
            list
              (function
                | List [ i; c; u; o; ways ] ->
                    ( int i,
                      {
                        concerns = condition c;
                        unmet_where = condition u;
                        outcome = int o;
                        gives_way = list (function List [ j; c ] -> (int j, condition c) | _ -> shape "a way") ways;
                      } )
                | _ -> shape "a line")
              lines;
          becomes =
            list
              (function
                | List [ f; t; c ] -> { from = int f; to0 = int t; becomes_where = condition c }
                | _ -> shape "a relabelling")
              bec;
        }
      in
      (name, p, list presumption pres)
  | _ -> shape "a program"

let tested = function List [ p; t ] -> (int p, ints t) | _ -> shape "tests"

let rec live = function
  | List [ n; c; u; before ] -> Live (int n, ints c, ints u, list unyielding before)
  | _ -> shape "a line that stands"

and unyielding = function
  | List [ Atom "notunder"; t ] -> NotUnder (ints t)
  | List [ Atom "blocked"; b ] -> IsBlocked (blocked b)
  | _ -> shape "why not"

and blocked = function
  | List [ n; why ] ->
      let why =
        match why with
        | List [ Atom "notconcerned"; t ] -> NotConcerned (ints t)
        | List [ Atom "met"; t ] -> Met (ints t)
        | List [ Atom "setaside"; t; l ] -> SetAside (tested t, live l)
        | _ -> shape "what keeps it"
      in
      Blocked (int n, why)
  | _ -> shape "a line that does not stand"

let verdict = function Atom "none" -> NotSubject | s -> Outcome (int s)

let way = function
  | List [ r; cover; d; kept; rule; graver ] ->
      {
        readings = list (function List [ q; r ] -> (int q, int r) | _ -> shape "a reading") r;
        cover =
          (match cover with
          | List [ Atom "notinforce" ] -> NotInForce
          | List [ Atom "notcovered"; b ] -> NotCovered (list tested b)
          | List [ Atom "leftout"; b; r; g ] -> LeftOut (opt tested b, tested r, list tested g)
          | List [ Atom "covered"; b; r ] -> Covered (tested b, list tested r)
          | _ -> shape "coverage");
        deciding = opt live d;
        kept_out = list blocked kept;
        relabelled_by = opt tested rule;
        no_graver = list tested graver;
      }
  | _ -> shape "a way"

let certificate = function
  | List [ v; ways ] -> { claims = verdict v; proofs = list way ways }
  | _ -> shape "a certificate"

(* Facts: the ones that are said, all others wholly unknown. *)
let unknown : (int, possible) Hashtbl.t = Hashtbl.create 200
let rules : (constraint0 * constraint0) list ref = ref []

let constraint_of = function
  | List [ Atom "word"; f; w ] -> HasWord (int f, ints w)
  | List [ Atom "atleast"; f; n ] -> AtLeast (int f, int n)
  | List [ Atom "notempty"; f ] -> NotEmpty (int f)
  | _ -> shape "a constraint"

let facts s =
  let table = Hashtbl.copy unknown in
  let said = list (function List [ f; p ] -> (int f, possible p) | _ -> shape "a fact") s in
  List.iter (fun (f, p) -> Hashtbl.replace table f p) said;
  table

let nothing = PWords ([], false)
let ask table f = match Hashtbl.find_opt table f with Some p -> p | None -> nothing

(* What was compared, and what differs. *)
let counts : (string * int ref) list ref = ref []

let count what many =
  match List.assoc_opt what !counts with
  | Some n -> n := !n + many
  | None -> counts := !counts @ [ (what, ref many) ]

let differences = ref 0
let line_number = ref 0
let name = ref ""

let differ what =
  incr differences;
  if !differences <= 40 then Printf.printf "DIFFERS line %d, %s: %s\n" !line_number !name what

let same what told found show =
  count what 1;
  if told <> found then differ (Printf.sprintf "%s: the library tells %s, the model %s" what (show told) (show found))

let set l = List.sort_uniq compare l

let show_verdicts l =
  String.concat " " (List.map (function NotSubject -> "none" | Outcome o -> string_of_int o) l)

let truth = function '0' -> F | '?' -> U | '1' -> T | _ -> shape "a truth"
let show_truth = function F -> "0" | U -> "?" | T -> "1"
let truths = function Atom a -> List.map truth (List.of_seq (String.to_seq a)) | List _ -> shape "truths"
let show_truths l = String.concat "" (List.map show_truth l)

(* Vehicles that agree with what is known, drawn at random. *)
let pick l = List.nth l (Random.int (List.length l))

let interesting p =
  let numbers = Hashtbl.create 50 and codes = ref [ None ] and texts = ref [ 1_000_000 ] in
  let add f n = Hashtbl.replace numbers f (n :: (try Hashtbl.find numbers f with Not_found -> [])) in
  let run r = codes := Some r.first :: Some r.last :: Some (r.first - 1) :: Some (r.last + 1) :: !codes in
  let rec each = function
    | All l | Any l -> List.iter each l
    | Not c -> each c
    | Test (Number (f, b)) ->
        (* A number with a unit is reported in whole ones: beside a bound of many base units there is nobody's number. *)
        List.iter
          (fun n -> add f n; if abs n < 100_000 then (add f (n - 1); add f (n + 1)))
          (Option.to_list b.least @ Option.to_list b.most)
    | Test (Text (_, among, _)) -> texts := among @ !texts
    | Test (NotMoreIncomplete f) -> List.iter (add f) [ 0; 1; 2; 3; 4 ]
    | Test _ -> ()
  in
  List.iter (fun (_, c) -> each c) p.findings;
  List.iter (fun (_, r) -> each r.row_where; List.iter run r.row_codes) p.tables;
  List.iter (fun (_, r) -> each r.limit_where) p.limits;
  List.iter (fun r -> each r.counts_where) p.counts;
  List.iter (fun r -> each r.excuse_where) p.excuses;
  List.iter each p.covers;
  List.iter (fun r -> each r.left_where) p.left_out;
  List.iter (fun (_, l) -> each l.concerns; each l.unmet_where; List.iter (fun (_, c) -> each c) l.gives_way) p.lines;
  List.iter (fun r -> each r.becomes_where) p.becomes;
  List.iter (fun (_, g) -> run g.codes_in) p.groups;
  (numbers, List.filter (function Some c -> c >= 0 && c <= 0xFFFF | None -> true) !codes, !texts)

let value (numbers, codes, texts) f = function
  | PWords (w, a) ->
      let all = List.map (fun w -> VWord w) w @ if a then [ VAbsent ] else [] in
      if all = [] then VAbsent else pick all
  | PNumber (l, h, a) ->
      let near = List.filter (fun n -> l <= n && n <= h) (try Hashtbl.find numbers f with Not_found -> []) in
      let all = List.map (fun n -> VNumber n) ((if l <= h then [ l; h ] else []) @ near) @ if a then [ VAbsent ] else [] in
      if all = [] then VAbsent else pick all
  | PText (Some t) -> VText t
  | PText None -> VText (pick texts)
  | PSet (s, p) -> VSet (s @ List.filter (fun m -> (not (List.mem m s)) && Random.int 4 = 0) p)
  | PCodes (r, a, p) ->
      if (not p) || (a && Random.bool ()) then VAbsent
      else
        let known, more = match r with Some r -> r | None -> ([], true) in
        VCodes (known @ if more then List.init (Random.int 3) (fun _ -> pick codes) else [])

(* Facts that rule others out first; what they rule out is not drawn. Whether a vehicle can exist, the model says afterwards. *)
let drawn near known =
  let left = Hashtbl.copy known and only = Hashtbl.create 200 in
  let leaders = List.sort_uniq compare (List.map (fun (a, _) -> about a) !rules) in
  let settle f =
    let v = value near f (ask left f) in
    Hashtbl.replace only f v;
    let rule_out (a, b) =
      if about a = f && meets a v && known_meets b (ask left (about b)) = U then
        Hashtbl.replace left (about b) (without b (ask left (about b)))
    in
    List.iter (fun (a, b) -> rule_out (a, b); rule_out (b, a)) !rules
  in
  List.iter settle (List.sort (fun _ _ -> Random.int 3 - 1) leaders);
  Hashtbl.iter (fun f p -> if not (Hashtbl.mem only f) then Hashtbl.replace only f (value near f p)) left;
  only

let is_settled = function
  | PWords (w, a) -> List.length w + (if a then 1 else 0) <= 1
  | PNumber (l, h, a) -> (l = h && not a) || (l > h && a)
  | PText t -> t <> None
  | PSet (s, p) -> set s = set p
  | PCodes (Some (_, more), a, _) -> (not more) && not a
  | PCodes (None, a, p) -> a && not p

let most_numbers = 20

(* Every way of reading what the law leaves open, if they are not too many. *)
let readings p =
  let opened = List.filter_map (fun (q, (n, t)) -> if t = None then Some (q, n) else None) p.questions in
  let groups = List.sort_uniq compare (List.filter_map (fun (g, b) -> if b.unread then Some g else None) p.groups) in
  let slots = List.filter_map (fun (_, r) -> match r.allows with NotRead s -> Some s | _ -> None) p.limits in
  let spread many = List.concat_map (fun rest -> List.init many (fun n -> n :: rest)) in
  let size = List.fold_left (fun s n -> if s > 600 then s else s * n) 1
      (List.map snd opened @ List.map (fun _ -> 2) groups @ List.map (fun _ -> most_numbers) slots) in
  let all = if size > 600 then None else
      Some (List.fold_right (fun (_, n) -> spread n) opened
        (List.fold_right (fun _ -> spread 2) groups (List.fold_right (fun _ -> spread most_numbers) slots [ [] ]))) in
  let at keys choice k = match List.find_opt (fun (key, _) -> key = k) (List.combine keys choice) with
    | Some (_, n) -> n | None -> 0 in
  let split l n = (List.filteri (fun i _ -> i < n) l, List.filteri (fun i _ -> i >= n) l) in
  let made choice =
    let qs, rest = split choice (List.length opened) in
    let gs, ns = split rest (List.length groups) in
    let reading q = match List.assoc_opt q p.questions with
      | Some (_, Some taken) -> taken
      | _ -> at (List.map fst opened) qs q in
    (reading, (fun g -> at groups gs g = 1), fun s -> at slots ns s)
  in
  let random () = made (List.map (fun (_, n) -> Random.int (max 1 n)) opened @ List.map (fun _ -> Random.int 2) groups
      @ List.map (fun _ -> Random.int most_numbers) slots) in
  (Option.map (List.map made) all, random)

let samples = 12
let keys = ref []

(* One snapshot under the program at hand. *)
let given = ref None
let rings_seen = ref false

let snapshot (p, presumptions, near) = function
  | List [ Atom "snapshot"; whole; reported; stranger; expected; unlisted; bound; exact; covered; lines; findings; limits ]
    -> (
      let expected = facts expected in
      match prepare 1000 !rules p presumptions (opt int stranger) (ask (facts reported)) with
      | None -> differ "what is known: the model finds a contradiction"
      | Some (k, tables) ->
          let known = Hashtbl.create 200 in
          Hashtbl.iter (fun f _ -> Hashtbl.replace known f (k.k_fact f)) expected;
          let k = { k with k_fact = ask known } in
          Hashtbl.iter
            (fun f told ->
              let norm = function
                | PWords (w, a) -> PWords (set w, a)
                | PNumber (l, h, a) when l > h -> PNumber (1, 0, a)
                | PSet (s, m) -> PSet (set s, set m)
                | PCodes (Some (c, m), a, b) -> PCodes (Some (set c, m), a, b)
                | p -> p
              in
              count "facts" 1;
              if norm told <> norm (k.k_fact f) then differ (Printf.sprintf "fact %d" f))
            expected;
          let rows = list (function List [ t; r ] -> (int t, ints r) | _ -> shape "rows") unlisted in
          same "tables presumed not listed" (set (List.map fst rows)) (set tables) (fun _ -> "others");
          List.iter
            (fun (t, r) ->
              List.iter
                (fun row ->
                  if k.k_row t row.row_id <> Some (List.mem row.row_id r) then differ "a row of a table presumed not listed")
                (named t p.tables))
            rows;
          let k = if rows = [] then { k with k_row = (fun _ _ -> None) } else k in
          given := Some k;
          if (not !rings_seen) && number_of_ways p <= 64 then begin
            rings_seen := true;
            count "programs without a ring of lines under any reading" 1;
            if not (no_ring_under_any_reading p k) then differ "lines give way in a ring"
          end;
          let bound = set (list verdict bound) and exact = set (list verdict exact) in
          same "sets of verdicts of the interpreter" bound (set (interpret p k)) show_verdicts;
          same "coverage" (truths covered) [ tell_covered p k ] show_truths;
          let found = tell_lines p k in
          List.iteri
            (fun i told -> let unmet, live = List.assoc i found in same "lines" told [ unmet; live ] show_truths)
            (list truths lines);
          List.iteri
            (fun i told -> same "named conditions" told [ tell_test p k (Finding i) ] show_truths)
            (list truths findings);
          List.iteri
            (fun i told ->
              same "limits" told [ tell_test p k (Limit (i, true)); tell_test p k (Limit (i, false)) ] show_truths)
            (list truths limits);
          let all, random = readings p in
          let verdict_of fact (reading, band, number) =
            the_verdict p { v_fact = fact; v_reading = reading; v_band = band; v_number = number; v_row = k.k_row }
          in
          let settled = bit whole && Hashtbl.fold (fun _ p so_far -> so_far && is_settled p) known true in
          match all with
          | Some all when settled ->
              let only = drawn near known in
              let fact f = try Hashtbl.find only f with Not_found -> VAbsent in
              same "exact sets of whole vehicles" exact (set (List.map (verdict_of fact) all)) show_verdicts
          | _ ->
              for _ = 1 to samples do
                let only = drawn near known in
                let fact f = try Hashtbl.find only f with Not_found -> VAbsent in
                Hashtbl.iter (fun f v -> if not (may_be (k.k_fact f) v) then differ "a vehicle drawn does not agree") only;
                if not (can_exist !rules fact) then count "vehicles drawn that cannot exist, and were left" 1
                else begin
                  count "vehicles drawn" 1;
                  let found = verdict_of fact (random ()) in
                  if not (List.mem found exact) then
                    differ
                      (Printf.sprintf "a vehicle drawn: verdict %s is not in %s" (show_verdicts [ found ])
                         (show_verdicts exact))
                end
              done)
  | _ -> shape "a snapshot"

let proof p = function
  | List [ Atom "certificate"; part; it; told ] -> (
      match !given with
      | None -> differ "a certificate without a snapshot"
      | Some k ->
          let part = facts part in
          Hashtbl.iter
            (fun f wide ->
              count "facts that a proof rests on" 1;
              if not (narrower (k.k_fact f) wide) then differ (Printf.sprintf "a proof rests on more than is known: fact %d" f))
            part;
          let found = accepts p { k_fact = ask part; k_row = k.k_row } (certificate it) in
          same (if bit told then "proofs accepted" else "proofs refused") (bit told) found string_of_bool)
  | _ -> shape "a proof"

(* The blocks of a program by their places. *)
let blocks = ref []

let block = function
  | List [ s; e; p; d; c; v; u ] ->
      { starts = opt int s; ends = opt int e; published = opt int p; draft = bit d; change = opt int c; variant = opt int v;
        under = int u }
  | _ -> shape "a block"

let () =
  Random.init 7;
  let at_hand = ref None in
  let file = open_in Sys.argv.(1) in
  (try
     while true do
       let line = input_line file in
       incr line_number;
       match parse line with
       | List (Atom "unknown" :: l) ->
           Hashtbl.reset unknown;
           List.iter (function List [ f; p ] -> Hashtbl.replace unknown (int f) (possible p) | _ -> shape "a fact") l;
           keys := Hashtbl.fold (fun f _ l -> f :: l) unknown []
       | List (Atom "exclusions" :: l) ->
           rules := List.map (function List [ a; b ] -> (constraint_of a, constraint_of b) | _ -> shape "a rule") l
       | List (Atom "program" :: _) as s ->
           let n, p, presumptions = program s in
           name := n;
           count "programs on a day" 1;
           if not (deep_enough p) then differ "conditions lead further than the model follows them";
           if not (no_ring (ways_of p)) then count "of them with lines that give way in a ring over all readings together" 1;
           rings_seen := false;
           at_hand := Some (p, presumptions, interesting p)
       | List (Atom "snapshot" :: _) as s ->
           given := None;
           snapshot (Option.get !at_hand) s
       | List (Atom "blocks" :: Atom n :: l) ->
           name := n;
           blocks := List.mapi (fun place b -> (place, block b)) l
       | List [ Atom "stand"; day; known; drafts; change; told ] ->
           let s = { as_of = int day; known_on = opt int known; drafts = bit drafts; with_change = opt int change } in
           let standing = stand s (List.map snd !blocks) in
           let found = List.filter_map (fun (place, b) -> if List.memq b standing then Some place else None) !blocks in
           same "selections of blocks" (ints told) found (fun l -> String.concat " " (List.map string_of_int l))
       | List [ Atom "contradiction"; f ] ->
           let p, presumptions, _ = Option.get !at_hand in
           same "contradictions" true (prepare 1000 !rules p presumptions None (ask (facts f)) = None) string_of_bool
       | List (Atom "certificate" :: _) as s ->
           let p, _, _ = Option.get !at_hand in
           proof p s
       | _ -> shape "a line"
     done
   with End_of_file -> close_in file);
  List.iter (fun (what, n) -> Printf.printf "%d %s\n" !n what) !counts;
  Printf.printf "%d differences\n" !differences;
  if !differences > 0 then exit 1
