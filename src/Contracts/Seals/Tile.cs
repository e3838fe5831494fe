using System.Globalization;

namespace Contracts.Seals;

/// <summary>
/// A tile of C2SP tlog-tiles: up to 256 hashes of one level of the tree, level counted in steps of eight. A tile with
/// fewer than 256 hashes is partial and ends at the edge of the tree.
/// </summary>
public readonly record struct Tile(int Level, long Index, int Width)
{
    /// <summary>How many hashes a full tile has.</summary>
    public const int FullWidth = 256;

    private const int Height = 8;

    /// <summary>Where the tile is served, such as <c>tile/0/x001/x234/067</c> or <c>tile/1/000.p/17</c>.</summary>
    public string Path => string.Create(
        CultureInfo.InvariantCulture, $"tile/{Level}/{IndexPath(Index)}{(Width == FullWidth ? "" : $".p/{Width}")}");

    /// <summary>Where the entries below the tile of level 0 are served.</summary>
    public string EntriesPath => string.Create(
        CultureInfo.InvariantCulture, $"tile/entries/{IndexPath(Index)}{(Width == FullWidth ? "" : $".p/{Width}")}");

    /// <summary>An index in groups of three digits, all but the last begun with x.</summary>
    public static string IndexPath(long index)
    {
        var path = (index % 1000).ToString("000", CultureInfo.InvariantCulture);
        for (var rest = index / 1000; rest > 0; rest /= 1000)
        {
            path = string.Create(CultureInfo.InvariantCulture, $"x{rest % 1000:000}/{path}");
        }

        return path;
    }

    /// <summary>All tiles of the tree of this size, from the lowest level, partial ones last in their level.</summary>
    public static IEnumerable<Tile> Of(long size)
    {
        for (var level = 0; size > 0; level++, size /= FullWidth)
        {
            for (var index = 0L; index < size / FullWidth; index++) { yield return new Tile(level, index, FullWidth); }
            if (size % FullWidth > 0) { yield return new Tile(level, size / FullWidth, (int)(size % FullWidth)); }
        }
    }

    /// <summary>The tile in which the node is found, in the tree of this size, and the hashes of the tile below the node.</summary>
    public static (Tile Tile, Range Hashes) Holding(NodeId node, long size)
    {
        var (level, within) = (node.Level / Height, node.Level % Height);
        var first = node.Index << within;
        var index = first / FullWidth;
        var width = Math.Min(FullWidth, (size >> (Height * level)) - (index * FullWidth));
        var start = (int)(first % FullWidth);
        return (new Tile(level, index, (int)width), start..(start + (1 << within)));
    }
}

/// <summary>Stored tiles.</summary>
public interface ITileReader
{
    /// <summary>The hashes of the tile; a stored tile may be wider than asked for.</summary>
    ReadOnlyMemory<Digest> Hashes(Tile tile);
}

/// <summary>The nodes of a tree that is stored in tiles, at one size.</summary>
public sealed class TileNodes(ITileReader tiles, long size) : INodeReader
{
    public Digest Node(NodeId node)
    {
        var (tile, hashes) = Tile.Holding(node, size);
        return MerkleTree.Root(tiles.Hashes(tile).Span[hashes]);
    }
}
