using System.Globalization;
using System.Text.Json.Nodes;
using Contracts.Seals;
using Xunit;
using static Contracts.Tests.Seals.SealVectors;

namespace Contracts.Tests.Seals;

/// <summary>Proofs: the published ones, all small ones, and changed ones, of which none may hold.</summary>
public sealed class ProofTests(ITestOutputHelper output)
{
    private const int Largest = 256;

    private static readonly MemoryTree Tree = new(Enumerable.Range(0, Largest).Select(number => MerkleTree.LeafHash([(byte)number])));

    private static readonly Digest[] Roots = [.. Enumerable.Range(0, Largest + 1).Select(size => MerkleTree.Root(Tree, size))];

    [Fact]
    public void Published_proofs_of_inclusion_hold_or_fail_as_published()
    {
        var vectors = Vectors("inclusion");
        var refused = 0;
        foreach (var vector in vectors)
        {
            var fault = Size(vector, "leaf_index") is { } index && Size(vector, "tree_size") is { } size
                && SealVectors.Path(vector) is { } path
                && Digest.TryParseHex(Text(vector, "leaf_hash_hex"), out var leaf) && Digest.TryParseHex(Text(vector, "root_hex"), out var root)
                    ? new InclusionProof(index, size, path).Verify(leaf, root)
                    : new SealFault(SealFaultKind.ProofMalformed, "The proof cannot be written down.");
            Assert.True((bool)vector["want_error"]! == fault is not null, $"{Text(vector, "name")}: {fault}");
            refused += fault is null ? 0 : 1;
        }

        Assert.Equal((98, 92), (vectors.Count, refused));
    }

    [Fact]
    public void Published_proofs_of_consistency_hold_or_fail_as_published()
    {
        var vectors = Vectors("consistency");
        var refused = 0;
        foreach (var vector in vectors)
        {
            var fault = Size(vector, "size1") is { } old && Size(vector, "size2") is { } size
                && SealVectors.Path(vector) is { } path
                    ? new ConsistencyProof(old, size, path).Verify(Root(vector, "root1_hex"), Root(vector, "root2_hex"))
                    : new SealFault(SealFaultKind.ProofMalformed, "The proof cannot be written down.");
            Assert.True((bool)vector["want_error"]! == fault is not null, $"{Text(vector, "name")}: {fault}");
            refused += fault is null ? 0 : 1;
        }

        Assert.Equal((98, 92), (vectors.Count, refused));
    }

    [Fact]
    public void Every_proof_of_every_tree_to_256_leaves_holds_and_no_flipped_bit_does()
    {
        var (held, flipped) = (0, 0);
        for (var size = 1; size <= Largest; size++)
        {
            for (var index = 0; index < size; index++)
            {
                var inclusion = InclusionProof.Make(Tree, index, size);
                var leaf = Tree.Node(new NodeId(0, index));
                Assert.Null(inclusion.Verify(leaf, Roots[size]));
                var consistency = ConsistencyProof.Make(Tree, index + 1, size);
                Assert.Null(consistency.Verify(Roots[index + 1], Roots[size]));
                held += 2;
                for (var step = 0; step < inclusion.Path.Count; step++, flipped++)
                {
                    Assert.NotNull((inclusion with { Path = Flip(inclusion.Path, step, (index * 7) + size) }).Verify(leaf, Roots[size]));
                }

                for (var step = 0; step < consistency.Path.Count; step++, flipped++)
                {
                    Assert.NotNull((consistency with { Path = Flip(consistency.Path, step, (index * 5) + size) }).Verify(Roots[index + 1], Roots[size]));
                }
            }
        }

        Assert.Equal(65_792, held);
        output.WriteLine($"{held:N0} proofs held, {flipped:N0} with one bit flipped were refused.");
    }

    [Fact]
    public void No_changed_proof_is_accepted()
    {
        const int Shares = 16;
        var tries = Tries("CONTRACTS_PROOFS", 1_000_000);
        var accepted = 0;
        Parallel.For(0, Shares, share =>
        {
            // The seed is the share, so that a proof that was accepted is found again.
            var random = new Random(share);
            for (var at = share; at < tries; at += Shares)
            {
                if (random.Next(2) == 0 ? HoldsChanged(random) : HoldsChangedStep(random)) { Interlocked.Increment(ref accepted); }
            }
        });
        output.WriteLine($"{tries:N0} changed proofs, {accepted} accepted.");
        Assert.Equal(0, accepted);
    }

    [Fact]
    public void A_proof_says_what_is_wrong_with_it()
    {
        var proof = InclusionProof.Make(Tree, 3, 7);
        var leaf = Tree.Node(new NodeId(0, 3));
        Assert.Equal(SealFaultKind.ProofIndexOutside, (proof with { Index = 7 }).Verify(leaf, Roots[7])!.Kind);
        Assert.Equal(SealFaultKind.ProofIndexOutside, (proof with { Index = -1 }).Verify(leaf, Roots[7])!.Kind);
        Assert.Equal(SealFaultKind.ProofLength, (proof with { Path = [.. proof.Path, Digest.Zero] }).Verify(leaf, Roots[7])!.Kind);
        Assert.Equal(SealFaultKind.ProofLength, (proof with { Path = [.. proof.Path.SkipLast(1)] }).Verify(leaf, Roots[7])!.Kind);
        Assert.Equal("proof-root-differs", proof.Verify(leaf, Roots[6])!.Slug);
        var step = ConsistencyProof.Make(Tree, 3, 7);
        Assert.Equal(SealFaultKind.ProofIndexOutside, (step with { OldSize = 0 }).Verify(MerkleTree.EmptyRoot, Roots[7])!.Kind);
        Assert.Equal(SealFaultKind.ProofIndexOutside, (step with { OldSize = 8 }).Verify(Roots[8], Roots[7])!.Kind);
        Assert.Equal(SealFaultKind.ProofLength, new ConsistencyProof(7, 7, step.Path).Verify(Roots[7], Roots[7])!.Kind);
        Assert.Equal(SealFaultKind.ProofRootDiffers, new ConsistencyProof(7, 7, []).Verify(Roots[6], Roots[7])!.Kind);
        Assert.Equal(SealFaultKind.ProofRootDiffers, step.Verify(Roots[4], Roots[7])!.Kind);
        Assert.Throws<ArgumentOutOfRangeException>(() => ConsistencyProof.Make(Tree, 0, 7));
        Assert.Throws<ArgumentOutOfRangeException>(() => InclusionProof.Make(Tree, 7, 7));
    }

    private static bool HoldsChanged(Random random)
    {
        var size = random.Next(2, Largest + 1);
        var proof = InclusionProof.Make(Tree, random.Next(size), size);
        var (leaf, root) = (Tree.Node(new NodeId(0, proof.Index)), Roots[size]);
        switch (random.Next(6))
        {
            case 0: proof = proof with { Path = Changed(random, proof.Path) }; break;
            // The size alone may change where it asks for the same steps: what fixes it is the signed checkpoint.
            case 1: proof = proof with { Index = Other(random, proof.Index, size) }; break;
            case 2: leaf = Tree.Node(new NodeId(0, Other(random, proof.Index, Largest))); break;
            case 3: root = Roots[Other(random, size, Largest + 1)]; break;
            case 4: (leaf, root) = (root, leaf); break;
            default: leaf = FlipBit(leaf, random.Next(256)); break;
        }

        return proof.Verify(leaf, root) is null;
    }

    private static bool HoldsChangedStep(Random random)
    {
        var size = random.Next(2, Largest + 1);
        var proof = ConsistencyProof.Make(Tree, random.Next(1, size), size);
        var (old, root) = (Roots[proof.OldSize], Roots[size]);
        switch (random.Next(5))
        {
            case 0: proof = proof with { Path = Changed(random, proof.Path) }; break;
            case 1: old = Roots[Other(random, proof.OldSize, Largest + 1)]; break;
            case 2: root = Roots[Other(random, size, Largest + 1)]; break;
            case 3: (old, root) = (root, old); break;
            default: root = FlipBit(root, random.Next(256)); break;
        }

        return proof.Verify(old, root) is null;
    }

    private static List<Digest> Changed(Random random, IReadOnlyList<Digest> path)
    {
        var steps = path.ToList();
        var at = random.Next(steps.Count);
        switch (random.Next(5))
        {
            case 0: steps[at] = FlipBit(steps[at], random.Next(256)); break;
            case 1: steps.RemoveAt(at); break;
            case 2: steps.Insert(at, steps[random.Next(steps.Count)]); break;
            case 3 when steps.Count > 1: (steps[at], steps[(at + 1) % steps.Count]) = (steps[(at + 1) % steps.Count], steps[at]); break;
            default: steps.Add(Digest.Zero); break;
        }

        return steps;
    }

    private static int Other(Random random, long than, int below)
    {
        var other = random.Next(below - 1);
        return other >= than ? other + 1 : other;
    }

    private static IReadOnlyList<Digest> Flip(IReadOnlyList<Digest> path, int step, int bit) =>
        [.. path.Select((hash, at) => at == step ? FlipBit(hash, bit % 256) : hash)];

    private static Digest FlipBit(Digest hash, int bit)
    {
        var bytes = hash.ToBytes();
        bytes[bit / 8] ^= (byte)(1 << (bit % 8));
        return new Digest(bytes);
    }

    private static long? Size(JsonObject vector, string name) =>
        long.TryParse(vector[name]!.ToJsonString(), NumberStyles.None, CultureInfo.InvariantCulture, out var size) ? size : null;

    /// <summary>A root; some vectors have other bytes where only equality counts, and the digest of those stands for them.</summary>
    private static Digest Root(JsonObject vector, string name) =>
        Digest.TryParseHex(Text(vector, name), out var hash) ? hash : Digest.Of(Hex(vector, name));
}
