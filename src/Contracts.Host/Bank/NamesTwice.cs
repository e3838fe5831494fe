namespace Contracts.Host.Bank;

/// <summary>
/// Which lines of a file have a name that an earlier line of it has, in memory that does not grow with the file. A first reading notes all names in a
/// filter of fixed size, which tells those that can have come twice: all that did, and by chance a few more. The second reading counts only these.
/// </summary>
internal sealed class NamesTwice
{
    private const int Bits = 1 << 27;

    private readonly HashSet<ulong> candidates = [];
    private ulong[]? filter = new ulong[Bits / 64];
    private HashSet<ulong>? met;

    /// <summary>In the second reading, whether no earlier line has the name; what the first answers means nothing.</summary>
    /// <param name="name">A hash of the name, evenly spread.</param>
    public bool IsFirst(ulong name)
    {
        if (met is not null) { return !candidates.Contains(name) || met.Add(name); }
        if (!Note(name)) { candidates.Add(name); }
        return true;
    }

    /// <summary>The first reading is over.</summary>
    public void ReadAgain()
    {
        filter = null;
        met = [];
    }

    /// <summary>Whether the name is new to the filter.</summary>
    private bool Note(ulong name)
    {
        var isNew = false;
        Span<ulong> places = [name, name >> 32, unchecked(name * 0x9E3779B97F4A7C15) >> 37];
        foreach (var place in places)
        {
            var bit = (int)(place & (Bits - 1));
            ref var word = ref filter![bit >> 6];
            isNew |= (word & (1UL << (bit & 63))) == 0;
            word |= 1UL << (bit & 63);
        }

        return isNew;
    }
}
