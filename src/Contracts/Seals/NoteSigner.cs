using System.Buffers.Binary;
using System.Globalization;

namespace Contracts.Seals;

/// <summary>
/// A private key that signs notes. It is made of a name and 32 secret bytes, which come from elsewhere: nothing random
/// happens here, and nothing is kept. <see cref="ToString"/> shows the public key only.
/// </summary>
public sealed class NoteSigner
{
    private readonly byte[] seed;

    public NoteSigner(string name, NoteKeyType type, ReadOnlySpan<byte> seed)
    {
        this.seed = seed.ToArray();
        Verifier = new NoteVerifier(name, type, Ed25519.PublicKey(seed));
    }

    /// <summary>The public side of the key.</summary>
    public NoteVerifier Verifier { get; }

    /// <summary>Reads <c>PRIVATE+KEY+name+keyid+base64(type || seed)</c>, the form in which signed-note tools keep a private key.</summary>
    public static Parsed<NoteSigner> Parse(string key)
    {
        const string Head = "PRIVATE+KEY+";
        var parts = key.StartsWith(Head, StringComparison.Ordinal) ? key[Head.Length..].Split('+', 3) : [];
        if (parts.Length != 3 || !NoteVerifier.IsName(parts[0])
            || Base64Text.Read(parts[2]) is not { Length: 1 + Ed25519.SeedLength } tagged
            || (NoteKeyType)tagged[0] is not (NoteKeyType.Ed25519 or NoteKeyType.Cosignature))
        {
            return new SealFault(SealFaultKind.KeyMalformed, "A private key is written PRIVATE+KEY+name+keyid+base64 and is of a known type.");
        }

        var signer = new NoteSigner(parts[0], (NoteKeyType)tagged[0], tagged.AsSpan(1));
        return string.Equals(parts[1], signer.Verifier.KeyId.ToString("x8", CultureInfo.InvariantCulture), StringComparison.Ordinal)
            ? signer
            : new SealFault(SealFaultKind.KeyMalformed, "The id of the private key is not that of its public key.");
    }

    /// <summary>The private key as text: a secret, for the file of the signer and nothing else.</summary>
    public string ToSecretText() => string.Create(CultureInfo.InvariantCulture,
        $"PRIVATE+KEY+{Verifier.Name}+{Verifier.KeyId:x8}+{Convert.ToBase64String([(byte)Verifier.Type, .. seed])}");

    /// <summary>Signs the text of a note with a log's key.</summary>
    public NoteSignature Sign(string text) => Verifier.Type == NoteKeyType.Ed25519
        ? new NoteSignature(Verifier.Name, Verifier.KeyId, Ed25519.Sign(seed, StrictUtf8.Bytes(text)))
        : throw new InvalidOperationException("A witness's key signs with a time.");

    /// <summary>Signs the text of a checkpoint with a witness's key, as seen at a time in seconds since 1970.</summary>
    public NoteSignature Cosign(string text, long time)
    {
        if (Verifier.Type != NoteKeyType.Cosignature) { throw new InvalidOperationException("A log's key signs without a time."); }
        ArgumentOutOfRangeException.ThrowIfNegative(time);
        var signature = new byte[8 + Ed25519.SignatureLength];
        BinaryPrimitives.WriteInt64BigEndian(signature, time);
        Ed25519.Sign(seed, NoteVerifier.CosignedText(time, StrictUtf8.Bytes(text))).CopyTo(signature, 8);
        return new NoteSignature(Verifier.Name, Verifier.KeyId, signature);
    }

    public override string ToString() => Verifier.VKey;
}
