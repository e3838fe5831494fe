namespace Contracts.Seals;

/// <summary>
/// The members of the objects that are being written, put in order at the end of each. Most are in order already; then nothing is
/// moved. One stack serves all nested objects, and its room is kept from document to document.
/// </summary>
internal sealed class CanonicalMembers(CanonicalWriter writer) : IComparer<CanonicalMembers.Member>
{
    private Member[] members = new Member[32];
    private byte[] names = new byte[512];
    private byte[] moved = new byte[512];
    private int count;
    private int named;

    /// <summary>Forgets what a document that was refused has left.</summary>
    public void Reset() => (count, named) = (0, 0);

    /// <summary>Begins an object.</summary>
    public Frame Begin()
    {
        writer.Raw((byte)'{');
        return new Frame(count, named, writer.Length);
    }

    /// <summary>A member of this name begins; whether it stands behind the one before it.</summary>
    public bool Begin(in Frame frame, ReadOnlySpan<byte> name)
    {
        var inOrder = true;
        if (count > frame.First)
        {
            writer.Raw((byte)',');
            inOrder = Compare(NameOf(members[count - 1]), name) < 0;
        }

        if (count == members.Length) { Array.Resize(ref members, 2 * count); }
        if (named + name.Length > names.Length) { Array.Resize(ref names, Math.Max(named + name.Length, 2 * names.Length)); }
        name.CopyTo(names.AsSpan(named));
        members[count++] = new Member(named, name.Length, writer.Length, writer.Length);
        named += name.Length;
        return inOrder;
    }

    /// <summary>The member that began last is written.</summary>
    public void End() => members[count - 1] = members[count - 1] with { End = writer.Length };

    /// <summary>Ends the object, with its members in order; a name that stands twice, or null.</summary>
    public byte[]? Finish(in Frame frame, bool ordered)
    {
        byte[]? repeated = null;
        if (!ordered)
        {
            var length = writer.Length - frame.Start;
            if (moved.Length < length) { moved = new byte[2 * length]; }
            writer.Since(frame.Start).CopyTo(moved);
            Array.Sort(members, frame.First, count - frame.First, this);
            writer.CutTo(frame.Start);
            for (var index = frame.First; index < count && repeated is null; index++)
            {
                var member = members[index];
                if (index > frame.First)
                {
                    if (NameOf(member).SequenceEqual(NameOf(members[index - 1]))) { repeated = NameOf(member).ToArray(); }
                    writer.Raw((byte)',');
                }

                writer.Raw(moved.AsSpan(member.Start - frame.Start, member.End - member.Start));
            }
        }

        (count, named) = (frame.First, frame.Named);
        writer.Raw((byte)'}');
        return repeated;
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

    int IComparer<Member>.Compare(Member left, Member right) => Compare(NameOf(left), NameOf(right));

    private static int Rank(byte value) => value is 0xEE or 0xEF ? value + 0x100 : value;

    private ReadOnlySpan<byte> NameOf(in Member member) => names.AsSpan(member.Name, member.NameLength);

    /// <summary>Where an object began: its first member, its first name, its first byte.</summary>
    internal readonly record struct Frame(int First, int Named, int Start);

    /// <summary>Where a member's name and its text stand.</summary>
    internal readonly record struct Member(int Name, int NameLength, int Start, int End);
}
