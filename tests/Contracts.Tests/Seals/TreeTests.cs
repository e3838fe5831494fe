using System.Globalization;
using System.Text;
using System.Text.Json.Nodes;
using Contracts.Seals;
using Xunit;
using static Contracts.Tests.Seals.SealVectors;

namespace Contracts.Tests.Seals;

/// <summary>The tree, its edge and its tiles against the published vectors.</summary>
public sealed class TreeTests
{
    private static readonly JsonObject Tree = Group("tree");

    [Fact]
    public void Sha_256_is_that_of_the_standard() =>
        Assert.All(Vectors("sha256"), vector => Assert.Equal(
            Text(vector, "digest_hex"),
            Digest.Of(vector["message_hex"] is { } hex ? Hex(hex) : [.. Enumerable.Repeat(Hex(vector, "repeat_byte_hex")[0], (int)vector["repeat"]!)]).ToString()));

    [Fact]
    public void Leaves_nodes_and_roots_are_those_of_the_reference()
    {
        var leaves = Texts(Tree, "leaf_inputs_hex").Select(entry => MerkleTree.LeafHash(Convert.FromHexString(entry))).ToList();
        var memory = new MemoryTree(leaves);
        var levels = (JsonArray)Tree["node_hashes_by_level_hex"]!;
        for (var level = 0; level < levels.Count; level++)
        {
            for (var index = 0; index < ((JsonArray)levels[level]!).Count; index++)
            {
                Assert.Equal((string)levels[level]![index]!, memory.Node(new NodeId(level, index)).ToString());
            }
        }

        var edge = new CompactRange();
        for (var size = 0; size <= leaves.Count; size++)
        {
            var root = (string)Tree["roots_by_size_hex"]![size]!;
            Assert.Equal(root, edge.Root().ToString());
            Assert.Equal(root, MerkleTree.Root(memory, size).ToString());
            Assert.Equal(root, MerkleTree.Root([.. leaves.Take(size)]).ToString());
            var nodes = size == 0 ? [] : NodeId.Cover(0, size).Select(node => $"{node.Level},{node.Index}");
            Assert.Equal(((JsonArray)Tree["compact_range_by_size"]!)[size]!.AsArray().Select(node => (string)node!), nodes);
            if (size < leaves.Count) { edge.Append(leaves[size]); }
        }
    }

    [Fact]
    public void What_is_completed_by_an_append_is_the_whole_tree()
    {
        var leaves = Enumerable.Range(0, 300).Select(number => MerkleTree.LeafHash(BitConverter.GetBytes(number))).ToList();
        var memory = new MemoryTree(leaves);
        var stored = new Dictionary<NodeId, Digest>();
        var edge = new CompactRange();
        foreach (var leaf in leaves) { edge.Append(leaf, (node, hash) => stored.Add(node, hash)); }
        Assert.All(stored, pair => Assert.Equal(memory.Node(pair.Key), pair.Value));
        // 300 + 150 + 75 + 37 + 18 + 9 + 4 + 2 + 1
        Assert.Equal(596, stored.Count);
    }

    [Fact]
    public void The_edge_of_a_tree_is_written_and_read_back()
    {
        var leaves = Enumerable.Range(0, 130).Select(number => MerkleTree.LeafHash([(byte)number])).ToList();
        var memory = new MemoryTree(leaves);
        for (var size = 0; size <= leaves.Count; size++)
        {
            var edge = CompactRange.From(memory, size);
            var copy = CompactRange.Parse(edge.ToBytes()).Value;
            Assert.Equal(MerkleTree.Root(memory, size), copy.Root());
            Assert.Equal(edge.ToBytes(), copy.ToBytes());
            Assert.Equal(SealFaultKind.TreeMalformed, CompactRange.Parse(edge.ToBytes().AsSpan(1)).Fault!.Kind);
            var clone = edge.Clone();
            clone.Append(leaves[0]);
            Assert.Equal(size, edge.Size);
        }

        Assert.Equal(SealFaultKind.TreeMalformed, CompactRange.Parse([0x80, 0, 0, 0, 0, 0, 0, 0]).Fault!.Kind);
    }

    [Fact]
    public void Sums_over_all_trees_to_130_leaves_are_the_published_ones()
    {
        var sums = Group("accumulated");
        var leaves = Enumerable.Range(0, 130).Select(number => MerkleTree.LeafHash([(byte)number])).ToList();
        var memory = new MemoryTree(leaves);
        var (roots, inclusions, consistencies) = (new StringBuilder(), new StringBuilder(), new StringBuilder());
        for (var size = 0; size <= leaves.Count; size++)
        {
            roots.Append(CultureInfo.InvariantCulture, $"{size} {MerkleTree.Root(memory, size)}\n");
            for (var index = 0; index < size; index++) { Line(inclusions, $"{index} {size}", InclusionProof.Make(memory, index, size).Path); }
            for (var old = 1; old <= size; old++) { Line(consistencies, $"{old} {size}", ConsistencyProof.Make(memory, old, size).Path); }
        }

        Assert.Equal(Text(sums["own"]!, "roots_sha256"), Sum(roots));
        Assert.Equal(Text(sums["own"]!, "inclusion_sha256"), Sum(inclusions));
        Assert.Equal(Text(sums["own"]!, "consistency_sha256"), Sum(consistencies));

        var (subtrees, within) = (new StringBuilder(), new StringBuilder());
        for (var end = 0; end <= leaves.Count; end++)
        {
            for (var start = 0; start <= end; start++)
            {
                if (start == end)
                {
                    subtrees.Append(CultureInfo.InvariantCulture, $"[{start}, {end}) {MerkleTree.EmptyRoot}\n");
                    continue;
                }

                if (start % (long)System.Numerics.BitOperations.RoundUpToPowerOf2((ulong)(end - start)) != 0) { continue; }
                subtrees.Append(CultureInfo.InvariantCulture, $"[{start}, {end}) {MerkleTree.RangeHash(memory, start, end)}\n");
                var part = new MemoryTree(leaves[start..end]);
                for (var index = start; index < end; index++)
                {
                    Line(within, $"{index} [{start}, {end})", InclusionProof.Make(part, index - start, end - start).Path);
                }
            }
        }

        Assert.Equal(Text(sums, "subtree_hash_sha256"), Sum(subtrees));
        Assert.Equal(Text(sums, "subtree_inclusion_sha256"), Sum(within));
    }

    [Fact]
    public void A_log_of_others_has_the_tiles_bundles_and_roots_that_they_publish()
    {
        var log = Group("golden_log");
        var entries = Texts(log, "entries_text").Select(Utf8).ToList();
        var leaves = entries.Select(entry => MerkleTree.LeafHash(entry)).ToList();
        Assert.Equal(Texts(log, "leaf_hashes_hex"), leaves.Select(leaf => leaf.ToString()));
        Assert.Equal(Text(log, "tile_0_000_p15_hex"), Convert.ToHexStringLower([.. leaves.SelectMany(leaf => leaf.ToBytes())]));
        Assert.Equal(Text(log, "entries_000_p15_hex"), Convert.ToHexStringLower(EntryBundle.Write(entries)));
        Assert.Equal(entries, EntryBundle.Read(EntryBundle.Write(entries)).Value);
        Assert.Equal(SealFaultKind.TreeMalformed, EntryBundle.Read(EntryBundle.Write(entries).AsSpan()[..^1]).Fault!.Kind);
        var memory = new MemoryTree(leaves);
        Assert.All((JsonArray)log["checkpoints"]!, point => Assert.Equal(Text(point!, "root_hex"), MerkleTree.Root(memory, (long)point!["size"]!).ToString()));
        Assert.All((JsonArray)log["own_inclusion_size15"]!, proof =>
            Assert.Equal(SealVectors.Path(proof!), InclusionProof.Make(memory, (long)proof!["index"]!, 15).Path));
        Assert.All((JsonArray)log["own_consistency_to_15"]!, proof =>
            Assert.Equal(SealVectors.Path(proof!), ConsistencyProof.Make(memory, (long)proof!["size1"]!, 15).Path));
    }

    [Fact]
    public void Tiles_are_named_as_the_specification_names_them()
    {
        Assert.Equal(Text(Group("tiles"), "index_1234067"), Tile.IndexPath(1234067));
        var tiles = Tile.Of(70000).ToList();
        Assert.Equal(273, tiles.Count(tile => tile is { Level: 0, Width: Tile.FullWidth }));
        Assert.Equal(new Tile(0, 273, 112), tiles.Single(tile => tile.Level == 0 && tile.Width < Tile.FullWidth));
        Assert.Equal([new Tile(1, 0, 256), new Tile(1, 1, 17), new Tile(2, 0, 1)], tiles.Where(tile => tile.Level > 0));
        Assert.Equal("tile/1/001.p/17", new Tile(1, 1, 17).Path);
        Assert.Equal("tile/entries/273.p/112", new Tile(0, 273, 112).EntriesPath);
        Assert.Equal([new Tile(0, 0, 256), new Tile(1, 0, 1)], Tile.Of(256));
    }

    [Fact]
    public void Proofs_from_tiles_are_proofs_from_the_tree()
    {
        var memory = new MemoryTree(Enumerable.Range(0, 70_000).Select(number => MerkleTree.LeafHash(BitConverter.GetBytes(number))));
        foreach (var (index, size) in new[] { (0L, 70_000L), (69_999, 70_000), (65_535, 65_536), (65_536, 69_001), (256, 257), (12_345, 60_000) })
        {
            var tiles = new TileNodes(new CutFrom(memory), size);
            Assert.Equal(InclusionProof.Make(memory, index, size), InclusionProof.Make(tiles, index, size));
            Assert.Equal(ConsistencyProof.Make(memory, index + 1, size), ConsistencyProof.Make(tiles, index + 1, size));
            Assert.Equal(InclusionProof.Needed(index, size).Count, InclusionProof.Needed(index, size).Distinct().Count());
        }
    }

    [Fact]
    public void A_long_entry_is_hashed_like_a_short_one()
    {
        foreach (var length in new[] { 0, 1, 2046, 2047, 2048, 2049, 65_535 })
        {
            var entry = new byte[length];
            Assert.Equal(Digest.Of([0, .. entry]), MerkleTree.LeafHash(entry));
        }
    }

    private static void Line(StringBuilder text, string head, IReadOnlyList<Digest> path) =>
        text.Append(head).Append(string.Concat(path.Select(hash => " " + hash))).Append('\n');

    private static string Sum(StringBuilder text) => Digest.Of(Utf8(text.ToString())).ToString();

    private sealed class CutFrom(MemoryTree tree) : ITileReader
    {
        public ReadOnlyMemory<Digest> Hashes(Tile tile) =>
            Enumerable.Range(0, tile.Width).Select(at => tree.Node(new NodeId(8 * tile.Level, (tile.Index * Tile.FullWidth) + at))).ToArray();
    }
}
