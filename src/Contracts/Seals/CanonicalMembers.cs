namespace Contracts.Seals;

/// <summary>
/// The members of one object as they come, put in order at its end. Most are in order already; then nothing is moved.
/// </summary>
internal sealed class CanonicalMembers
{
    private readonly CanonicalWriter writer;
    private readonly List<Member> members = [];
    private readonly int start;
    private int begun;
    private bool ordered = true;

    /// <summary>Begins the object.</summary>
    public CanonicalMembers(CanonicalWriter writer)
    {
        this.writer = writer;
        writer.Raw((byte)'{');
        start = writer.Length;
    }

    /// <summary>A member of this name begins.</summary>
    public void Begin(ReadOnlySpan<byte> name)
    {
        ordered = ordered && (members.Count == 0 || Compare(members[^1].Name, name) < 0);
        if (members.Count > 0) { writer.Raw((byte)','); }
        begun = writer.Length;
        members.Add(new Member(name.ToArray(), begun, begun));
    }

    /// <summary>The member that began last is written.</summary>
    public void End() => members[^1] = members[^1] with { End = writer.Length };

    /// <summary>Ends the object, with its members in order; a name that stands twice, or null.</summary>
    public byte[]? Finish()
    {
        if (!ordered)
        {
            var written = writer.Since(start).ToArray();
            members.Sort(static (left, right) => Compare(left.Name, right.Name));
            writer.CutTo(start);
            for (var index = 0; index < members.Count; index++)
            {
                var member = members[index];
                if (index > 0 && member.Name.AsSpan().SequenceEqual(members[index - 1].Name)) { return member.Name; }
                if (index > 0) { writer.Raw((byte)','); }
                writer.Raw(written.AsSpan(member.Start - start, member.End - member.Start));
            }
        }

        writer.Raw((byte)'}');
        return null;
    }

    /// <summary>
    /// Orders names in UTF-8 as RFC 8785, section 3.2.3, orders them in UTF-16. The two differ only where U+E000 to
    /// U+FFFF, which begin with EE or EF, meet what needs a surrogate pair, which begins with F0 or more.
    /// </summary>
    public static int Compare(ReadOnlySpan<byte> left, ReadOnlySpan<byte> right)
    {
        var same = left.CommonPrefixLength(right);
        if (same == left.Length || same == right.Length) { return left.Length - right.Length; }
        return Rank(left[same]) - Rank(right[same]);
    }

    private static int Rank(byte value) => value is 0xEE or 0xEF ? value + 0x100 : value;

    private readonly record struct Member(byte[] Name, int Start, int End);
}
