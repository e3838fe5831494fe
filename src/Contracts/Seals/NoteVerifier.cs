using System.Buffers.Binary;
using System.Globalization;
using System.Text;

namespace Contracts.Seals;

/// <summary>The signature types of C2SP signed-note that are read here; the number is the byte in keys and key ids.</summary>
public enum NoteKeyType : byte
{
    /// <summary>Ed25519 over the text of the note: what a log signs with.</summary>
    Ed25519 = 0x01,

    /// <summary>Ed25519 over a time and the text: what a witness signs with (C2SP tlog-cosignature, cosignature/v1).</summary>
    Cosignature = 0x04,
}

/// <summary>A public key that notes are held against, written as a vkey: <c>name+keyid+base64(type || key)</c> (C2SP signed-note).</summary>
public sealed class NoteVerifier
{
    private const int TimeLength = 8;
    private readonly byte[] publicKey;

    /// <summary>The verifier of a key that is known to be well formed.</summary>
    public NoteVerifier(string name, NoteKeyType type, ReadOnlySpan<byte> publicKey)
    {
        if (!IsName(name)) { throw new ArgumentException("A key name is not empty and has no space and no plus.", nameof(name)); }
        if (publicKey.Length != Ed25519.PublicKeyLength) { throw new ArgumentException("An Ed25519 key has 32 bytes.", nameof(publicKey)); }
        (Name, Type, this.publicKey) = (name, type, publicKey.ToArray());
        KeyId = IdOf(name, Tagged());
    }

    public string Name { get; }

    public NoteKeyType Type { get; }

    /// <summary>The first four bytes, big-endian, of SHA-256(name || 0A || type || key).</summary>
    public uint KeyId { get; }

    /// <summary>The 32 bytes of the key.</summary>
    public ReadOnlyMemory<byte> PublicKey => publicKey;

    /// <summary>The key as text.</summary>
    public string VKey => string.Create(CultureInfo.InvariantCulture, $"{Name}+{KeyId:x8}+{Convert.ToBase64String(Tagged())}");

    /// <summary>Reads a vkey; it must be spelt as <see cref="VKey"/> would spell it.</summary>
    public static Parsed<NoteVerifier> Parse(string vkey)
    {
        var parts = vkey.Split('+', 3);
        if (parts.Length != 3 || !IsName(parts[0]) || Base64Text.Read(parts[2]) is not { Length: > 0 } tagged)
        {
            return new SealFault(SealFaultKind.KeyMalformed, "A key is written name+keyid+base64.");
        }

        if (!string.Equals(parts[1], IdOf(parts[0], tagged).ToString("x8", CultureInfo.InvariantCulture), StringComparison.Ordinal))
        {
            return new SealFault(SealFaultKind.KeyMalformed, "The id of the key is not that of its name and bytes.");
        }

        var type = (NoteKeyType)tagged[0];
        if (type is not (NoteKeyType.Ed25519 or NoteKeyType.Cosignature))
        {
            return new SealFault(SealFaultKind.KeyTypeUnknown, $"Keys of type {tagged[0]:x2} are not known here.");
        }

        return tagged.Length == 1 + Ed25519.PublicKeyLength
            ? new NoteVerifier(parts[0], type, tagged.AsSpan(1))
            : new SealFault(SealFaultKind.KeyMalformed, "An Ed25519 key has 32 bytes.");
    }

    /// <summary>Whether the signature bytes (without key id) are this key's over the text of a note.</summary>
    public bool Verify(ReadOnlySpan<byte> text, ReadOnlySpan<byte> signature) => Type == NoteKeyType.Ed25519
        ? Ed25519.Verify(publicKey, text, signature)
        : TimeOf(signature) is { } time && Ed25519.Verify(publicKey, CosignedText(time, text), signature[TimeLength..]);

    /// <summary>The seconds since 1970 in a cosignature, or null where there is none or it exceeds 2^63-1.</summary>
    public static long? TimeOf(ReadOnlySpan<byte> signature)
    {
        if (signature.Length != TimeLength + Ed25519.SignatureLength) { return null; }
        var time = BinaryPrimitives.ReadInt64BigEndian(signature);
        return time >= 0 ? time : null;
    }

    public override string ToString() => VKey;

    /// <summary>A key name is not empty and has neither spaces of any kind nor plus nor control characters.</summary>
    internal static bool IsName(string name) =>
        name.Length > 0 && !name.Any(letter => letter is '+' or < ' ' || char.IsWhiteSpace(letter)) && StrictUtf8.CanKeep(name);

    /// <summary>What a witness signs: two lines of its own before the text (C2SP tlog-cosignature).</summary>
    internal static byte[] CosignedText(long time, ReadOnlySpan<byte> text) =>
        [.. Encoding.ASCII.GetBytes(string.Create(CultureInfo.InvariantCulture, $"cosignature/v1\ntime {time}\n")), .. text];

    private static uint IdOf(string name, ReadOnlySpan<byte> tagged)
    {
        Span<byte> hash = stackalloc byte[Digest.Length];
        Digest.Of([.. StrictUtf8.Bytes(name), (byte)'\n', .. tagged]).CopyTo(hash);
        return BinaryPrimitives.ReadUInt32BigEndian(hash);
    }

    private byte[] Tagged() => [(byte)Type, .. publicKey];
}
