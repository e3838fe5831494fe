using System.Text;
using System.Text.Json.Nodes;
using Contracts.Seals;
using Xunit;
using static Contracts.Tests.Seals.SealVectors;

namespace Contracts.Tests.Seals;

/// <summary>The map of stream heads: what is there is shown, what is not is shown too, and nothing else.</summary>
public sealed class HeadMapTests(ITestOutputHelper output)
{
    private static readonly JsonObject Own = Group("lv1");

    [Fact]
    public void The_worked_map_has_its_root_and_proof()
    {
        var heads = Texts(Own, "head_entries_jcs").Select(text => LogEntry.Parse<HeadEntry>(Utf8(text)).Value).ToList();
        Assert.Equal(Texts(Own, "head_leaf_hashes_hex"), heads.Select(head => head.LeafHash().ToString()));
        var map = HeadMap.Of(heads.AsEnumerable().Reverse()).Value;
        Assert.Equal(Text(Own, "head_map_root_hex"), map.Root.ToString());
        var proof = map.Prove("store-001", heads[0].Stream);
        Assert.Equal(Texts(Own, "head_inclusion_stream1_hex"), proof.Found!.Path.Select(hash => hash.ToString()));
    }

    [Fact]
    public void Of_every_map_to_40_streams_each_stream_and_each_gap_is_shown()
    {
        for (var count = 0; count <= 40; count++)
        {
            var map = Map(count);
            for (var place = -1; place <= 2 * count; place++)
            {
                // Streams stand at even places, gaps between them and at both ends at odd ones.
                var proof = map.Prove("main", Name(place));
                Assert.Equal(place >= 0 && place % 2 == 0 && place < 2 * count, proof.IsPresence);
                Assert.Null(proof.Verify("main", Name(place), map.Count, map.Root));
                Assert.Equal(proof, HeadProofText.Parse(HeadProofText.Write(proof)).Value);
                Assert.NotNull(proof.Verify("main", Name(place), map.Count + 1, map.Root));
                Assert.NotNull(proof.Verify("main", Name(place), map.Count, Digest.Of([1])));
                Assert.NotNull(proof.Verify("main", Name(place == 0 ? 2 : 0), map.Count, proof.IsPresence ? map.Root : Digest.Zero));
            }
        }
    }

    [Fact]
    public void Leaving_a_stream_out_or_cutting_it_short_is_refused()
    {
        var random = new Random(40);
        var map = Map(50);
        var tries = Tries("CONTRACTS_OMISSIONS", 10_000);
        for (var trial = 0; trial < tries; trial++)
        {
            var place = 2 * random.Next(50);
            var (stream, honest) = (Name(place), map.Prove("main", Name(place)));
            var (left, right) = (At(map, random.Next(50)), At(map, random.Next(50)));
            var forged = random.Next(6) switch
            {
                0 => honest with { Found = honest.Found! with { Head = honest.Found.Head with { StreamVersion = random.Next(1, 7) } } },
                1 => honest with { Found = null, Before = left, After = right },
                2 => honest with { Found = null, Before = left, After = null },
                3 => honest with { Found = null, Before = null, After = right },
                4 => honest with { Found = null, Before = At(map, place / 2), After = At(map, Math.Min(49, (place / 2) + 1)) },
                _ => honest with { Found = left.Head.Stream == stream ? right with { Index = 60 } : left },
            };
            Assert.NotNull(forged.Verify("main", stream, map.Count, map.Root));
        }

        output.WriteLine($"{tries:N0} omissions, 0 accepted.");
    }

    [Fact]
    public void Absence_needs_neighbours_side_by_side()
    {
        var map = Map(5);
        var gap = map.Prove("main", Name(3));
        Assert.Equal(SealFaultKind.HeadNeighbours, (gap with { After = At(map, 3) }).Verify("main", Name(3), 5, map.Root)!.Kind);
        Assert.Equal(SealFaultKind.HeadPresent, gap.Verify("main", Name(5), 5, map.Root)!.Kind);
        Assert.Equal(SealFaultKind.HeadPresent, gap.Verify("main", Name(2), 5, map.Root)!.Kind);
        Assert.Equal(SealFaultKind.HeadNeighbours, (gap with { Before = null, After = null }).Verify("main", Name(3), 5, map.Root)!.Kind);
        Assert.Equal(SealFaultKind.HeadNeighbours, (map.Prove("main", Name(2)) with { After = At(map, 3) }).Verify("main", Name(2), 5, map.Root)!.Kind);
        Assert.Equal(SealFaultKind.HeadDiffers, map.Prove("main", Name(2)).Verify("main", Name(4), 5, map.Root)!.Kind);
        Assert.Equal(SealFaultKind.ProofRootDiffers, Map(0).Prove("main", "x").Verify("main", "x", 0, Digest.Zero)!.Kind);
    }

    [Fact]
    public void Two_heads_of_one_stream_are_refused_and_tenants_are_kept_apart()
    {
        Assert.Equal(SealFaultKind.HeadRepeated, HeadMap.Of([Head("a", "s"), Head("a", "s") with { StreamVersion = 9 }]).Fault!.Kind);
        // The zero byte between keeps "a" + "bs" from being "ab" + "s".
        var map = HeadMap.Of([Head("ab", "s"), Head("a", "bs")]).Value;
        Assert.Equal("a", map.Heads[0].Tenant);
        Assert.False(map.Prove("a", "s").IsPresence);
    }

    [Fact]
    public void A_damaged_proof_is_refused_or_not_believed()
    {
        var map = Map(9);
        var bytes = HeadProofText.Write(map.Prove("main", Name(5)));
        var random = new Random(9);
        for (var trial = 0; trial < 5_000; trial++)
        {
            var damaged = NoteTests.Damaged(random, bytes);
            if (damaged.AsSpan().SequenceEqual(bytes) || !HeadProofText.Parse(damaged).TryGet(out var proof, out _)) { continue; }
            Assert.NotNull(proof.Verify("main", Name(5), map.Count, map.Root));
        }

        Assert.Equal(SealFaultKind.ProofMalformed, HeadProofText.Parse("{}"u8).Fault!.Kind);
        Assert.Equal(SealFaultKind.ProofMalformed, HeadProofText.Parse("[]"u8).Fault!.Kind);
        Assert.Contains("\"kind\":\"head-proof\"", Encoding.UTF8.GetString(bytes), StringComparison.Ordinal);
    }

    private static HeadMap Map(int count) => HeadMap.Of(Enumerable.Range(0, count).Select(number => Head("main", Name(2 * number)))).Value;

    private static HeadEntry Head(string tenant, string stream) =>
        new() { Tenant = tenant, Stream = stream, StreamVersion = 7, Index = 3, Leaf = Digest.Of(Utf8(stream)) };

    private static PlacedHead At(HeadMap map, int index) => map.Prove("main", map.Heads[index].Stream).Found!;

    private static string Name(int place) => $"C-{place + 100:0000}";
}
