using System.Text;
using System.Text.Json.Nodes;
using Contracts.Seals;
using NodaTime;
using Xunit;
using static Contracts.Tests.Seals.SealVectors;

namespace Contracts.Tests.Seals;

/// <summary>Entries in the form lv1: the worked log to the byte, every kind read back, and strictness.</summary>
public sealed class EntryTests
{
    private const string Log = "ledger.example/a";

    private static readonly JsonObject Own = Group("lv1");

    private static readonly Instant Moment = Instant.FromUtc(2026, 10, 2, 8, 31).PlusTicks(1230);

    private static readonly Digest Some = Digest.Of([7]);

    [Fact]
    public void The_worked_log_comes_out_to_the_byte()
    {
        var log = new CompactRange();
        var leaves = new List<Digest>();
        foreach (var example in (JsonArray)Own["events"]!)
        {
            var (data, headers) = (Canonical(example!, "payload"), Canonical(example!, "headers"));
            var read = JsonNode.Parse(Text(example!, "entry_jcs"))!;
            var made = new EventEntry
            {
                Log = Text(Own, "log_origin"), Tenant = Text(read, "tenant"), Stream = Text(read, "stream"),
                StreamVersion = long.Parse(Text(read, "ver")), Sequence = long.Parse(Text(read, "seq")), Id = Guid.Parse(Text(read, "id")),
                Type = Text(read, "type"), EffectiveOn = NodaTime.Text.LocalDatePattern.Iso.Parse(Text(read, "eff")).Value,
                RecordedAt = NodaTime.Text.InstantPattern.ExtendedIso.Parse(Text(read, "at")).Value,
                Actor = Text(read, "actor"), Command = Text(read, "cmd"), Data = data, Headers = headers,
                Previous = leaves.LastOrDefault(leaf => leaf.ToString() == Text(read, "prev")),
            };
            Assert.Equal(Text(example!, "payload_sha256"), data.ToString());
            Assert.Equal(Text(example!, "headers_sha256"), headers.ToString());
            Assert.Equal(Text(example!, "entry_jcs"), Encoding.UTF8.GetString(made.ToBytes()));
            Assert.Equal(Text(example!, "leaf_hash_hex"), made.LeafHash().ToString());
            Assert.Equal(made, LogEntry.Parse(made.ToBytes()).Value);
            leaves.Add(made.LeafHash());
            log.Append(made.LeafHash());
            Assert.Equal((string)Own["roots_by_size_hex"]![leaves.Count]!, log.Root().ToString());
        }

        var anchor = LogEntry.Parse<AnchorEntry>(Utf8(Text(Own, "anchor_entry_jcs"))).Value;
        Assert.Equal(Text(Own, "anchor_entry_jcs"), Encoding.UTF8.GetString(anchor.ToBytes()));
        Assert.Equal(Text(Own, "anchor_leaf_hash_hex"), anchor.LeafHash().ToString());
        Assert.Equal((log.Root(), log.Size), (anchor.Root, anchor.Size));
        leaves.Add(anchor.LeafHash());
        log.Append(anchor.LeafHash());
        Assert.Equal((string)Own["roots_by_size_hex"]![7]!, log.Root().ToString());

        var tree = new MemoryTree(leaves);
        Assert.Equal(Texts(Own, "consistency_5_to_7_hex"), ConsistencyProof.Make(tree, 5, 7).Path.Select(hash => hash.ToString()));
        var signer = new NoteSigner(Text(Own, "log_origin"), NoteKeyType.Ed25519, Hex(Vectors("ed25519")[0], "secret_seed_hex"));
        var five = new Checkpoint(Text(Own, "log_origin"), 5, MerkleTree.Root(tree, 5));
        Assert.Equal(Text(Own, "checkpoint_size5_text"), SignedNote.Of(five.Text, signer.Sign(five.Text)).ToString());
        var proof = new TlogProof(2, InclusionProof.Make(tree, 2, 7).Path, Text(Own, "checkpoint_size7_text_with_cosignature"));
        Assert.Equal(Text(Own, "tlog_proof_event_index2_at7"), proof.ToString());
    }

    [Fact]
    public void Every_kind_is_read_as_it_is_written_and_no_byte_of_it_can_change_unseen()
    {
        var random = new Random(1);
        foreach (var entry in Kinds())
        {
            var bytes = entry.ToBytes();
            Assert.Equal(entry, LogEntry.Parse(bytes).Value);
            Assert.Null(CanonicalJson.Check(bytes));
            for (var trial = 0; trial < 2000; trial++)
            {
                var damaged = NoteTests.Damaged(random, bytes);
                if (damaged.AsSpan().SequenceEqual(bytes) || !LogEntry.Parse(damaged).TryGet(out var other, out _)) { continue; }
                Assert.NotEqual(entry.LeafHash(), other.LeafHash());
                Assert.Equal(damaged, other.ToBytes());
            }
        }
    }

    [Theory]
    [InlineData("\"v\":1", "\"v\":2", SealFaultKind.EntryVersionUnknown)]
    [InlineData("\"v\":1,", "", SealFaultKind.EntryFieldMissing)]
    [InlineData("\"kind\":\"event\"", "\"kind\":\"dream\"", SealFaultKind.EntryKindUnknown)]
    [InlineData("\"stream\":", "\"strain\":", SealFaultKind.EntryFieldMissing)]
    [InlineData("\"v\":1,", "\"v\":1,\"v1\":\"\",", SealFaultKind.EntryFieldUnknown)]
    [InlineData("\"seq\":\"12\"", "\"seq\":\"012\"", SealFaultKind.EntryFieldInvalid)]
    [InlineData("\"seq\":\"12\"", "\"seq\":\"-12\"", SealFaultKind.EntryFieldInvalid)]
    [InlineData("\"seq\":\"12\"", "\"seq\":12", SealFaultKind.EntryFieldInvalid)]
    [InlineData("\"seq\":\"12\"", "\"seq\":null", SealFaultKind.EntryFieldInvalid)]
    [InlineData("\"tenant\":\"main\"", "\"tenant\":\"\"", SealFaultKind.EntryFieldInvalid)]
    [InlineData(".000123Z", ".00123Z", SealFaultKind.EntryFieldInvalid)]
    [InlineData("\"eff\":\"2026-10-01\"", "\"eff\":\"2026-10-32\"", SealFaultKind.EntryFieldInvalid)]
    [InlineData("\"id\":\"00000000-", "\"id\":\"{0000000-", SealFaultKind.EntryFieldInvalid)]
    [InlineData("-abcdefabcdef\"", "-ABCDEFabcdef\"", SealFaultKind.JsonNotCanonical)]
    [InlineData("\"v\":1", "\"v\": 1", SealFaultKind.JsonNotCanonical)]
    public void A_spelling_that_is_not_the_canonical_one_is_refused_with_its_reason(string part, string other, SealFaultKind reason)
    {
        var text = Encoding.UTF8.GetString(Event().ToBytes());
        Assert.Contains(part, text, StringComparison.Ordinal);
        Assert.Equal(reason, LogEntry.Parse(Utf8(text.Replace(part, other, StringComparison.Ordinal))).Fault?.Kind);
    }

    [Fact]
    public void An_entry_that_cannot_be_kept_is_a_mistake_of_ours_and_not_written()
    {
        Assert.Throws<ArgumentException>(() => (Event() with { Stream = "" }).ToBytes());
        Assert.Throws<ArgumentException>(() => (Event() with { Stream = "a\0b" }).ToBytes());
        Assert.Throws<ArgumentException>(() => (Event() with { RecordedAt = Moment.PlusNanoseconds(1) }).ToBytes());
        Assert.ThrowsAny<ArgumentException>(() => (Event() with { Sequence = -1 }).ToBytes());
        Assert.ThrowsAny<ArgumentException>(() => (Event() with { Actor = "\udead" }).ToBytes());
        Assert.Throws<InvalidOperationException>(() => (Event() with { Actor = new string('a', LogEntry.Longest) }).ToBytes());
        Assert.Equal(SealFaultKind.EntryTooLong, LogEntry.Parse(new byte[LogEntry.Longest + 1]).Fault!.Kind);
        Assert.Equal(SealFaultKind.EntryKindUnknown, LogEntry.Parse<HeadEntry>(Event().ToBytes()).Fault!.Kind);
        Assert.Equal(SealFaultKind.JsonMalformed, LogEntry.Parse("[1]"u8).Fault!.Kind);
    }

    [Fact]
    public void A_new_key_is_trusted_on_the_word_of_the_old_one()
    {
        var (old, next) = (new NoteSigner(Log, NoteKeyType.Ed25519, new byte[32]), new NoteSigner(Log, NoteKeyType.Ed25519, [.. Enumerable.Repeat((byte)1, 32)]));
        var statement = KeyEntry.Statement(Log, Moment, next.Verifier.VKey);
        var entry = new KeyEntry { Log = Log, At = Moment, VKey = next.Verifier.VKey, Note = SignedNote.Of(statement, old.Sign(statement)).ToString() };
        Assert.Equal(next.Verifier.VKey, entry.Verify(old.Verifier).Value.VKey);
        Assert.Equal(SealFaultKind.SignatureUnknown, entry.Verify(next.Verifier).Fault!.Kind);
        Assert.Equal(SealFaultKind.NoteMalformed, (entry with { VKey = old.Verifier.VKey }).Verify(old.Verifier).Fault!.Kind);
    }

    internal static EventEntry Event() => new()
    {
        Log = Log, Tenant = "main", Stream = "C-1", StreamVersion = 1, Sequence = 12, Id = Guid.Parse("00000000-0000-7000-8000-abcdefabcdef"),
        Type = "held", EffectiveOn = new LocalDate(2026, 10, 1), RecordedAt = Moment, Actor = null, Command = "K-1",
        Data = Some, Headers = Some, Previous = default,
    };

    private static IEnumerable<LogEntry> Kinds() =>
    [
        Event(),
        Event() with { Actor = "Ana \u20ac \U0001F602 \"\\\u0001", EffectiveOn = null, Command = null },
        new HeadEntry { Tenant = "main", Stream = "C-1", StreamVersion = 3, Index = 9, Leaf = Some },
        .. Enum.GetValues<AnchorReason>().Select(reason => new AnchorEntry
        {
            Log = Log, At = Moment, Reason = reason, Period = reason == AnchorReason.MonthEnd ? "2026-09" : null, Size = 7, Root = Some, Events = 6,
            HeadCount = 2, Heads = Some, Rules = Some, Build = "0.1.0", TimeZones = "2026a",
        }),
        new AccessEntry { Log = Log, At = Moment, From = Moment, Until = Moment, Count = 3, Records = Some },
        new ErasureEntry { Log = Log, At = Moment, Tenant = "main", Subject = "H-1", Basis = "retention over" },
        new IncidentEntry { Log = Log, At = Moment, Reason = "row-restored", Report = Some },
        new KeyEntry { Log = Log, At = Moment, VKey = "a+b", Note = "a note\n\n\u2014 x y\n" },
    ];

    private static Digest Canonical(JsonNode example, string name)
    {
        var bytes = CanonicalJson.Restricted(Utf8(example[name]!.ToJsonString())).Value;
        Assert.Equal(Text(example, $"{name}_jcs"), Encoding.UTF8.GetString(bytes));
        return Digest.Of(bytes);
    }
}
