using System.Buffers;
using System.Buffers.Binary;
using System.Text;
using NodaTime;
using Npgsql;

namespace Contracts.Store.Writing;

/// <summary>
/// Rows in PostgreSQL's binary COPY format (PostgreSQL documentation, COPY, "Binary Format"; values as their types' send
/// functions write them), put together in memory while the connection is busy with something else. Npgsql's importer has
/// one awaited call for each value and turns every array into another one first; a load writes hundreds of thousands of them.
/// </summary>
/// <remarks>The memory is used again by the next batch, so one buffer serves one writer. Not for two threads at once.</remarks>
internal sealed class CopyBuffer : IBufferWriter<byte>
{
    private const int Null = -1;
    private const int IdSize = 16;
    private const byte JsonForm = 1;
    private const int SomeRoom = 256;

    private static readonly LocalDate Epoch = new(2000, 1, 1);
    private static readonly Instant EpochMoment = Instant.FromUtc(2000, 1, 1, 0, 0);

    /// <summary>What the format begins with: its signature, no flags, no extension.</summary>
    private static ReadOnlySpan<byte> Head => [0x50, 0x47, 0x43, 0x4F, 0x50, 0x59, 0x0A, 0xFF, 0x0D, 0x0A, 0x00, 0, 0, 0, 0, 0, 0, 0, 0];

    private byte[] bytes = new byte[1 << 16];
    private int length;

    /// <summary>How many rows were begun.</summary>
    public int Rows { get; private set; }

    /// <summary>Begins anew.</summary>
    public CopyBuffer Clear()
    {
        (length, Rows) = (0, 0);
        Head.CopyTo(Take(Head.Length));
        return this;
    }

    /// <summary>Begins a row.</summary>
    public CopyBuffer Row(short columns)
    {
        Rows++;
        BinaryPrimitives.WriteInt16BigEndian(Take(sizeof(short)), columns);
        return this;
    }

    /// <summary>A column or member without a value.</summary>
    public CopyBuffer Nothing() => Size(Null);

    /// <summary>An <c>int4</c>.</summary>
    public CopyBuffer Number(int number) => Size(sizeof(int)).Size(number);

    /// <summary>An <c>int8</c>.</summary>
    public CopyBuffer Long(long number)
    {
        Size(sizeof(long));
        BinaryPrimitives.WriteInt64BigEndian(Take(sizeof(long)), number);
        return this;
    }

    /// <summary>A <c>text</c>.</summary>
    public CopyBuffer Words(string words)
    {
        var size = Encoding.UTF8.GetByteCount(words);
        Encoding.UTF8.GetBytes(words, Size(size).Take(size));
        return this;
    }

    /// <summary>A <c>date</c>: days since the first of January 2000.</summary>
    public CopyBuffer Day(LocalDate day) => Number(Period.DaysBetween(Epoch, day));

    /// <summary>A <c>timestamptz</c>: whole microseconds since then.</summary>
    public CopyBuffer Moment(Instant moment) => Long((moment - EpochMoment).ToInt64Nanoseconds() / NodaConstants.NanosecondsPerMicrosecond);

    /// <summary>A <c>boolean</c>.</summary>
    public CopyBuffer Flag(bool flag)
    {
        Size(1).Take(1)[0] = flag ? (byte)1 : (byte)0;
        return this;
    }

    /// <summary>A <c>uuid</c>.</summary>
    public CopyBuffer Id(Guid id)
    {
        id.TryWriteBytes(Size(IdSize).Take(IdSize), bigEndian: true, out _);
        return this;
    }

    /// <summary>Begins a <c>jsonb</c>, whose text is then written into this buffer, and <see cref="Close"/>.</summary>
    /// <returns>What <see cref="Close"/> has to be given.</returns>
    public int OpenJson()
    {
        var start = length;
        Size(0).Take(1)[0] = JsonForm;
        return start;
    }

    /// <summary>Begins an array of one dimension; its members follow, and <see cref="Close"/>.</summary>
    /// <returns>What <see cref="Close"/> has to be given.</returns>
    public int Open(ArrayMember member, int count)
    {
        var start = length;
        // One dimension, members that may be missing, their type, how many, and the first is number one.
        Size(0).Size(1).Size(1).Size((int)member).Size(count).Size(1);
        return start;
    }

    /// <summary>Ends an array or a <c>jsonb</c>.</summary>
    public CopyBuffer Close(int start)
    {
        BinaryPrimitives.WriteInt32BigEndian(bytes.AsSpan(start), length - start - sizeof(int));
        return this;
    }

    /// <summary>Sends all rows.</summary>
    /// <param name="connection">A connection within a transaction, which a fault here leaves to be rolled back.</param>
    /// <param name="sql">The <c>copy … from stdin (format binary)</c>.</param>
    /// <param name="stop">Gives up.</param>
    public async Task SendAsync(NpgsqlConnection connection, string sql, CancellationToken stop)
    {
        // Without this end the server refuses the whole, so that rows that were cut short are never taken for all of them.
        BinaryPrimitives.WriteInt16BigEndian(Take(sizeof(short)), -1);
        var copy = await connection.BeginRawBinaryCopyAsync(sql, stop).ConfigureAwait(false);
        await using var ending = copy.ConfigureAwait(false);
        await copy.WriteAsync(bytes.AsMemory(0, length), stop).ConfigureAwait(false);
    }

    /// <inheritdoc/>
    public void Advance(int count) => length += count;

    /// <inheritdoc/>
    public Memory<byte> GetMemory(int sizeHint = 0)
    {
        Make(Math.Max(sizeHint, SomeRoom));
        return bytes.AsMemory(length);
    }

    /// <inheritdoc/>
    public Span<byte> GetSpan(int sizeHint = 0) => GetMemory(sizeHint).Span;

    private CopyBuffer Size(int size)
    {
        BinaryPrimitives.WriteInt32BigEndian(Take(sizeof(int)), size);
        return this;
    }

    private Span<byte> Take(int more)
    {
        Make(more);
        var room = bytes.AsSpan(length, more);
        length += more;
        return room;
    }

    private void Make(int more)
    {
        if (bytes.Length - length < more) { Array.Resize(ref bytes, Math.Max(2 * bytes.Length, length + more)); }
    }
}

/// <summary>The types that members of an array may have, by PostgreSQL's numbers (<c>pg_type.dat</c>).</summary>
internal enum ArrayMember
{
    /// <summary><c>int8</c></summary>
    Long = 20,

    /// <summary><c>int4</c></summary>
    Number = 23,

    /// <summary><c>text</c></summary>
    Words = 25,

    /// <summary><c>date</c></summary>
    Day = 1082,
}
