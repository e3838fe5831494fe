using System.Text;
using System.Text.Json.Nodes;
using Contracts.Seals;
using static Contracts.Tests.Seals.SealVectors;

namespace Contracts.Tests.Seals;

/// <summary>Cases for the two verifiers, as the lines that both read, and our verifier's answers to them.</summary>
internal static class SealCases
{
    private static readonly JsonObject Own = Group("lv1");

    private static readonly MemoryTree Tree = new(Enumerable.Range(0, 200).Select(number => MerkleTree.LeafHash([(byte)number])));

    private static readonly HeadMap Map = HeadMap.Of(Enumerable.Range(0, 21).Select(number => new HeadEntry
    {
        Tenant = "main", Stream = $"C-{2 * number:00}", StreamVersion = number + 1, Index = number, Leaf = Digest.Of([(byte)number]),
    })).Value;

    /// <summary>About so many cases: all kinds, half of them damaged; the slow ones, with signatures, are few.</summary>
    public static IEnumerable<JsonObject> All(Random random, int count)
    {
        foreach (var vector in Vectors("wycheproof")) { yield return Signature(Text(vector, "pk"), Text(vector, "msg"), Text(vector, "sig")); }
        for (var at = 0; at < count; at++)
        {
            yield return (at % 100) switch
            {
                < 30 => Case("json", ("in", Hex(Maybe(random, Utf8(Json(random, 0)))))),
                < 33 => Case("leaf", ("in", Hex(Bytes(random, 300)))),
                < 38 => Case("root", ("leaves", new JsonArray([.. Enumerable.Range(0, random.Next(20)).Select(leaf => (JsonNode)Tree.Node(new NodeId(0, leaf)).ToString())]))),
                < 53 => Inclusion(random),
                < 68 => Consistency(random),
                < 83 => Case("entry", ("in", Hex(Maybe(random, Entry(random))))),
                < 86 => Case("key", ("in", Encoding.Latin1.GetString(Maybe(random, Utf8(Text(Own, "log_vkey")))))),
                < 90 => Case("note", ("in", Hex(Maybe(random, Utf8(Text(Own, "checkpoint_size7_text_with_cosignature")))))),
                < 96 => Head(random),
                < 99 => Case("disclosure", ("in", Disclosure(random))),
                _ => Signed(random),
            };
        }
    }

    /// <summary>What our verifier says to a case: what came out, or the word for the fault.</summary>
    public static JsonObject Answer(JsonObject item) => Text(item, "do") switch
    {
        "json" => Of(CanonicalJson.Restricted(SealVectors.Hex(item, "in")), bytes => Hex(bytes)),
        "leaf" => Ok(MerkleTree.LeafHash(SealVectors.Hex(item, "in")).ToString()),
        "root" => Ok(MerkleTree.Root([.. Hashes(item, "leaves")]).ToString()),
        "inclusion" => Of(new InclusionProof((long)item["index"]!, (long)item["size"]!, Hashes(item, "path")).Verify(Hash(item, "leaf"), Hash(item, "root"))),
        "consistency" => Of(new ConsistencyProof((long)item["old"]!, (long)item["size"]!, Hashes(item, "path")).Verify(Hash(item, "oldRoot"), Hash(item, "root"))),
        "entry" => Of(LogEntry.Parse(SealVectors.Hex(item, "in")), entry => entry.Kind),
        "ed25519" => Ok(Ed25519.Verify(SealVectors.Hex(item, "key"), SealVectors.Hex(item, "message"), SealVectors.Hex(item, "signature")) ? "true" : "false"),
        "key" => Of(NoteVerifier.Parse(Text(item, "in")), key => key.VKey),
        "note" => Of(SignedNote.Parse(SealVectors.Hex(item, "in")), note => note.Text),
        "checkpoint" => Of(
            Checkpoint.Open(SealVectors.Hex(item, "in"), Key(item, "log"), [.. Texts(item, "others").Select(key => NoteVerifier.Parse(key).Value)]), signed => $"{signed.Checkpoint.Size}"),
        "proof" => Of(
            TlogProof.Parse(SealVectors.Hex(item, "in")).TryGet(out var proof, out var fault) ? proof.Verify(Hash(item, "leaf"), Key(item, "log")) : fault!, signed => $"{signed.Checkpoint.Size}"),
        "head" => HeadProofText.Parse(SealVectors.Hex(item, "in")).TryGet(out var head, out var wrong)
            ? head.Verify(Text(item, "tenant"), Text(item, "stream"), (long)item["count"]!, Hash(item, "root")) is { } unproved ? Bad(unproved) : Ok(head.IsPresence ? "true" : "false")
            : Bad(wrong),
        "disclosure" => Of(SaltedDisclosure.Parse(Text(item, "in")), read => $"{read.Name}|{read.Value}|{read.Digest}"),
        var other => throw new InvalidOperationException($"No case is called {other}."),
    };

    private static JsonObject Inclusion(Random random)
    {
        var size = random.Next(1, 201);
        var proof = InclusionProof.Make(Tree, random.Next(size), size);
        var index = random.Next(4) == 0 ? random.Next(-1, size + 2) : proof.Index;
        return Case("inclusion", ("index", index), ("size", random.Next(6) == 0 ? random.Next(-1, 220) : size), ("path", Path(random, proof.Path)),
            ("leaf", Tree.Node(new NodeId(0, proof.Index)).ToString()), ("root", MerkleTree.Root(Tree, size).ToString()));
    }

    private static JsonObject Consistency(Random random)
    {
        var size = random.Next(1, 201);
        var proof = ConsistencyProof.Make(Tree, random.Next(1, size + 1), size);
        return Case("consistency", ("old", random.Next(4) == 0 ? random.Next(-1, size + 2) : proof.OldSize), ("size", random.Next(6) == 0 ? random.Next(-1, 220) : size),
            ("path", Path(random, proof.Path)), ("oldRoot", MerkleTree.Root(Tree, proof.OldSize).ToString()), ("root", MerkleTree.Root(Tree, size).ToString()));
    }

    private static JsonArray Path(Random random, IReadOnlyList<Digest> path)
    {
        var steps = path.Select(hash => hash.ToString()).ToList();
        switch (random.Next(8))
        {
            case 0: steps.Add(Digest.Of([1]).ToString()); break;
            case 1 when steps.Count > 0: steps.RemoveAt(random.Next(steps.Count)); break;
            case 2 when steps.Count > 0: steps[random.Next(steps.Count)] = Digest.Of([2]).ToString(); break;
            default: break;
        }

        return new JsonArray([.. steps.Select(step => (JsonNode)step)]);
    }

    private static JsonObject Head(Random random)
    {
        var (asked, told) = (random.Next(44), random.Next(4));
        var proof = Map.Prove("main", $"C-{(told == 0 ? random.Next(44) : asked):00}");
        return Case("head", ("in", Hex(random.Next(3) == 0 ? NoteTests.Damaged(random, HeadProofText.Write(proof)) : HeadProofText.Write(proof))), ("tenant", "main"),
            ("stream", $"C-{asked:00}"), ("count", told == 1 ? random.Next(20, 23) : Map.Count), ("root", (told == 2 && random.Next(4) == 0 ? Digest.Zero : Map.Root).ToString()));
    }

    private static string Disclosure(Random random)
    {
        var made = SaltedDisclosure.Of(Bytes(random, 16, exactly: true), Word(random), Word(random)).Text;
        return random.Next(3) switch
        {
            0 => Encoding.Latin1.GetString(NoteTests.Damaged(random, Utf8(made))),
            1 => Base64Text.WriteUrl(Maybe(random, Utf8(Json(random, 0)))),
            _ => made,
        };
    }

    private static JsonObject Signed(Random random) => random.Next(3) switch
    {
        0 => Signature(Hex(Bytes(random, 32, exactly: true)), "00", Hex(Bytes(random, 64, exactly: true))),
        1 => Case("checkpoint", ("in", Hex(Maybe(random, Utf8(Text(Own, "checkpoint_size7_text_with_cosignature"))))), ("log", Text(Own, "log_vkey")),
            ("others", new JsonArray(Text(Own, "witness_vkey")))),
        _ => Case("proof", ("in", Hex(Maybe(random, Utf8(Text(Own, "tlog_proof_event_index2_at7"))))), ("log", Text(Own, "log_vkey")),
            ("leaf", Text(Own["events"]![random.Next(4) == 0 ? 1 : 2]!, "leaf_hash_hex"))),
    };

    private static byte[] Entry(Random random)
    {
        LogEntry[] known =
        [
            EntryTests.Event(), EntryTests.Event() with { Actor = Word(random) + "a", EffectiveOn = null },
            new HeadEntry { Tenant = "main", Stream = "C-1", StreamVersion = random.Next(), Index = random.Next(), Leaf = Digest.Of([1]) },
            LogEntry.Parse(Utf8(Text(Own, "anchor_entry_jcs"))).Value,
            new ErasureEntry { Log = "a", At = EntryTests.Event().RecordedAt, Tenant = "main", Subject = "H-1", Basis = "over" },
            new AccessEntry { Log = "a", At = EntryTests.Event().RecordedAt, From = default, Until = default, Count = 1, Records = default },
            new IncidentEntry { Log = "a", At = EntryTests.Event().RecordedAt, Reason = "r", Report = default },
            new KeyEntry { Log = "a", At = EntryTests.Event().RecordedAt, VKey = "a+b", Note = "n" },
        ];
        return known[random.Next(known.Length)].ToBytes();
    }

    /// <summary>JSON in a spelling that is seldom the canonical one, now and then outside the restricted model.</summary>
    private static string Json(Random random, int depth)
    {
        var space = random.Next(6) == 0 ? " \n\t\r"[random.Next(4)].ToString() : "";
        return space + random.Next(depth > 4 ? 5 : 9) switch
        {
            0 => new[] { "true", "false", "null" }[random.Next(3)],
            1 => random.NextInt64(-9_007_199_254_740_991, 9_007_199_254_740_992).ToString(),
            2 => random.Next(30) == 0 ? new[] { "1.5", "-0", "1e2", "9007199254740992", "1.0" }[random.Next(5)] : random.Next(-9, 9).ToString(),
            3 or 4 => Quoted(random),
            5 or 6 => "[" + string.Join(',', Enumerable.Range(0, random.Next(4)).Select(_ => Json(random, depth + 1))) + space + "]",
            _ => "{" + string.Join(',', Enumerable.Range(0, random.Next(4)).Select(_ => Quoted(random) + space + ":" + Json(random, depth + 1))) + "}",
        } + space;
    }

    private static string Quoted(Random random)
    {
        var text = new StringBuilder("\"");
        foreach (var letter in Word(random))
        {
            text.Append(letter is '"' or '\\' or < ' ' || random.Next(8) == 0 ? $"\\u{(int)letter:x4}" : letter.ToString());
        }

        if (random.Next(200) == 0) { text.Append("\\ud83d"); }
        if (random.Next(200) == 0) { text.Append("\\u0000"); }
        return text.Append('"').ToString();
    }

    private static string Word(Random random)
    {
        int[] letters = ['a', 'b', 'Z', '"', '\\', '/', '\n', 0x1, 0x7F, 0xE9, 0x20AC, 0xFB33, 0xFFFD, 0x1F602, 0x10FFFF];
        return string.Concat(Enumerable.Range(0, random.Next(1, 5)).Select(_ => char.ConvertFromUtf32(letters[random.Next(letters.Length)])));
    }

    private static byte[] Maybe(Random random, byte[] bytes) => random.Next(2) == 0 ? NoteTests.Damaged(random, bytes) : bytes;

    private static byte[] Bytes(Random random, int most, bool exactly = false)
    {
        var bytes = new byte[exactly ? most : random.Next(most)];
        random.NextBytes(bytes);
        return bytes;
    }

    private static JsonObject Signature(string key, string message, string signature) =>
        Case("ed25519", ("key", key), ("message", message), ("signature", signature));

    private static JsonObject Case(string what, params (string Name, JsonNode? Value)[] fields)
    {
        var item = new JsonObject { ["do"] = what };
        foreach (var (name, value) in fields) { item[name] = value; }
        // Read back, so that both verifiers have the line and nothing beside it.
        return (JsonObject)JsonNode.Parse(item.ToJsonString())!;
    }

    private static List<Digest> Hashes(JsonObject item, string name) => [.. Texts(item, name).Select(Digest.Parse)];

    private static Digest Hash(JsonObject item, string name) => Digest.Parse(Text(item, name));

    private static NoteVerifier Key(JsonObject item, string name) => NoteVerifier.Parse(Text(item, name)).Value;

    private static string Hex(byte[] bytes) => Convert.ToHexStringLower(bytes);

    private static JsonObject Of(SealFault? fault) => fault is null ? Ok("") : Bad(fault);

    private static JsonObject Of<T>(Parsed<T> parsed, Func<T, string> write)
        where T : notnull => parsed.TryGet(out var value, out var fault) ? Ok(write(value)) : Bad(fault);

    private static JsonObject Ok(string text) => new() { ["ok"] = text };

    private static JsonObject Bad(SealFault fault) => new() { ["fault"] = fault.Slug };
}
